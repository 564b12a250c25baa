"""How a phone comes by the calendar: which address it is told, and what a screen or page shows of it."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest

from almanac.cli.serve import _told
from almanac.web.app import create_app
from almanac.web.keys import Keys, load_keys
from almanac.web.server import Addresses
from almanac.web.subscribe import Base, base_for
from almanac.words.subscribing import FEEDS, link_of
from tests.nurseries import bench

NOW = datetime(2027, 1, 13, 17, tzinfo=UTC)
KEYS = Keys(read="r" * 32, write="w" * 32)
HERE, HOME, OWN = "http://127.0.0.1:8765/", "http://192.168.1.4:8765/", "http://shed.local:8765/"


@pytest.mark.parametrize(
    ("asked", "home", "own", "told"),
    [
        (HOME, HOME, "", HOME),
        (HOME, "http://192.168.1.9:8765/", "", HOME),  # by this one it was just reached
        (HOME, HOME, OWN, OWN),  # the grower said so
        (HERE, HOME, "", HOME),  # a browser on the machine itself
        ("http://localhost:8765/", HOME, "", HOME),
        ("http://[::1]:8765/", HOME, "", HOME),
    ],
)
def test_a_phone_is_told_an_address_that_it_can_reach(asked: str, home: str, own: str, told: str) -> None:
    assert base_for(asked, home, own) == Base(told.rstrip("/"), only_here=False)


def test_where_only_the_machine_itself_is_reached_it_is_said() -> None:
    assert base_for(HERE, "http://localhost:8765/", "") == Base("http://127.0.0.1:8765", only_here=True)


def test_a_phone_takes_webcal_for_a_subscription_and_https_stays_https() -> None:
    assert link_of("http://shed.local:8765/f/x/bench.ics") == "webcal://shed.local:8765/f/x/bench.ics"
    assert link_of("https://example.org/x.ics") == "https://example.org/x.ics"


@pytest.mark.parametrize(("host", "coded"), [("localhost", False), ("192.168.1.4", True)])
def test_a_code_is_shown_only_where_a_phone_gets_there_by_it(host: str, coded: bool, tmp_path: Path) -> None:
    bench(tmp_path, "2027-01-05 received 7a --count 12 --stage rooting --bin A", NOW.date())
    phone = create_app(tmp_path, lambda: NOW, ["localhost", "192.168.1.4"]).test_client()
    keys = load_keys(tmp_path)
    phone.get(f"/k/{keys.write}", base_url=f"http://{host}:8765")

    for path in ("/calendar", "/pair"):
        page = phone.get(path, base_url=f"http://{host}:8765").get_data(as_text=True)
        assert ("<svg" in page) == coded
        assert ("reaches this address" in page) != coded
        assert keys.write not in page
    for name in FEEDS:
        page = phone.get(f"/calendar/{name}", base_url=f"http://{host}:8765").get_data(as_text=True)
        assert f'href="webcal://{host}:8765/f/{keys.read}/{name}.ics"' in page
        assert f'value="http://{host}:8765/f/{keys.read}/{name}.ics"' in page
    assert phone.get("/calendar/secrets", base_url=f"http://{host}:8765").status_code == 404


def test_serve_on_the_machine_alone_shows_no_code_that_no_phone_can_use() -> None:
    told = _told(Addresses(("127.0.0.1",), 8765), KEYS, every=False)

    assert not re.search("[█▀▄]", told)
    assert "stickdate serve --host 0.0.0.0" in told


def test_serve_shows_one_address_and_the_others_only_when_asked_for() -> None:
    found = Addresses(("192.168.1.4", "fd00::4", "shed", "shed.local"), 8765)

    one, every = (_told(found, KEYS, every=each) for each in (False, True))

    assert set(re.findall(r"http://([^/]+)/", one)) == {"192.168.1.4:8765"}
    assert set(re.findall(r"http://([^/]+)/", every)) == {
        "192.168.1.4:8765", "[fd00::4]:8765", "shed:8765", "shed.local:8765"
    }  # fmt: skip
    assert every.startswith(one)
