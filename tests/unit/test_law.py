"""The law by crop and region: what may not be posted is refused, what needs a paper goes with its number."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Unpack

import pytest

from almanac.actions.rules import rulebook
from almanac.nursery.order_rows import paper_noted
from almanac.plan.context.law import laws_of_parcel
from almanac.site.place import Place
from almanac.words.derivation import rule_of
from tests.command import stickdate
from tests.nurseries import Parts, bench, write_nursery
from tests.unit.given import planned, task

VARIETIES = """number,name,crop,source,protected,price_cutting,price_plant,note
1,Ditch Ink (invented),black_currant,,,3,12,
2,Pond Garnet (invented),red_currant,,,3,12,
3,Slate Roof (invented),grape,,,3,12,
7,Copper Kettle (invented),fig,,,4,14,
"""
LOG = "".join(f"2026-01-10 taken {number}a --count 20\n2026-01-19 looked {number}a\n" for number in (1, 2, 3, 7))
DAY = "2026-01-20"
VIRGINIA = Place(latitude_deg=37.3, longitude_deg=-79.9, timezone="America/New_York", country="US", region="VA")


def nursery(folder: Path, **parts: Unpack[Parts]) -> Path:
    return write_nursery(folder, LOG, **(Parts(site='region = "VA"', varieties=VARIETIES) | parts))


def order(folder: Path, number: int, *words: str, code: int = 0) -> str:
    said = ("order", str(number), "--form", "dormant", "--count", "2", *words)
    done = stickdate("--nursery", folder, "--as-of", DAY, *said, code=code)
    return done.stderr if code else done.stdout


# The state's own rule named beside each; what they say stands in rules/law.toml with its source.
@pytest.mark.parametrize(
    ("crop", "region", "ruling"),
    [
        ("black_currant", "ME", "forbidden"),  # Maine 04-058, white pine blister rust quarantine, 1.B
        ("red_currant", "ME", "permit"),  # the same, 1.A: most southern counties
        ("gooseberry", "ME", "permit"),  # the same
        ("gooseberry", "DE", "permit"),  # 3 Del. Admin. Code 803, 4.2
        ("gooseberry", "RI", "permit"),  # 250-RICR-40-10-2, A
        ("gooseberry", "MA", "permit"),  # 330 CMR 9.03 (1)
        ("gooseberry", "NC", "forbidden"),  # 02 NCAC 48A .0401
        ("gooseberry", "NY", None),  # 9-1301 names black currant alone
        ("black_currant", "NY", "permit"),  # Environmental Conservation Law 9-1301: resistant varieties alone
        ("black_currant", "DE", "forbidden"),  # 3 Del. Admin. Code 803, 4.1
        ("red_currant", "DE", "permit"),  # the same, 4.2
        ("black_currant", "RI", "forbidden"),  # 250-RICR-40-10-2, C
        ("red_currant", "RI", "permit"),  # the same, A
        ("black_currant", "MA", "forbidden"),  # 330 CMR 9.00, as mass.gov tells it
        ("red_currant", "MA", "permit"),  # 330 CMR 9.03 (1)
        ("red_currant", "NC", "forbidden"),  # 02 NCAC 48A .0401
        ("grape", "WA", "permit"),  # WAC 16-483-030
        ("grape", "OR", "permit"),  # OAR 603-052-0051 (5)
        ("fig", "OR", "papers"),  # Oregon's general shipping requirements, b
        ("fig", "ME", None),
        ("black_currant", "PA", None),
    ],
)
def test_what_a_state_says_of_a_parcel_from_virginia(crop: str, region: str, ruling: str | None) -> None:
    found = laws_of_parcel(rulebook(None).laws.values(), crop, VIRGINIA, "US", region)

    assert next((law.ruling for law in found), None) == ruling


def test_a_parcel_that_the_law_forbids_is_refused_in_one_line_and_nothing_is_written(tmp_path: Path) -> None:
    folder = nursery(tmp_path)

    told = order(folder, 1, "--region", "Maine", code=1)

    assert told == (
        "stickdate: Maine forbids to sell, move, plant or have black currant anywhere in the state. Nothing was "
        "promised or sent there; ask the plant health office at both ends\n"
    )
    assert not (folder / "orders.csv").exists()


def test_what_needs_a_permit_is_promised_only_with_its_number_in_the_note(tmp_path: Path) -> None:
    folder = nursery(tmp_path)

    refused = order(folder, 2, "--region", "MA", "--note", "wants a permit", code=1)
    taken = order(folder, 2, "--region", "MA", "--note", "for spring; permit no. 27-114")

    assert 'write it into the order\'s note, as --note "permit 1234"' in refused
    assert "Order 1: 2 dormant cuttings of no. 2" in taken
    assert "Ask the plant health office at both ends." in " ".join(taken.split())


def test_an_order_that_came_to_need_a_certificate_is_neither_shipped_nor_logged_as_sold_without(tmp_path: Path) -> None:
    folder = nursery(tmp_path, orders=["1,2026-01-12,3,dormant,2,,US,WA,,"])

    for words in (("order", "--ship", "1"), ("log", "sold", "3a", "--count", "2", "--refers", "1")):
        told = stickdate("--nursery", folder, "--as-of", DAY, *words, code=1).stderr
        assert "Without the number of a certificate nothing goes to Washington" in told
        assert "orders.csv" in told


def test_where_nobody_has_said_where_it_goes_that_is_asked_and_not_refused(tmp_path: Path) -> None:
    told = " ".join(order(nursery(tmp_path), 1).split())

    assert "No place is noted for it. By law none goes to or from Delaware, Maine" in told
    assert "to New York only with a permit" in told


def test_where_a_crop_may_not_be_had_it_is_neither_promised_nor_on_the_buyers_list(tmp_path: Path) -> None:
    folder = nursery(tmp_path, site='region = "ME"')

    order(folder, 1, code=1)
    stickdate("--nursery", folder, "--as-of", DAY, "forsale", "--html", tmp_path / "list.html")

    page = (tmp_path / "list.html").read_text(encoding="utf-8")
    assert "Ditch Ink" not in page
    assert "Slate Roof" in page


def test_the_buyers_list_and_the_entry_that_offers_the_wood_say_where_it_may_not_go(tmp_path: Path) -> None:
    folder = nursery(tmp_path / "shed")
    screen = stickdate("--nursery", folder, "--as-of", DAY, "forsale", "--csv", tmp_path / "list.csv")
    stickdate("--nursery", folder, "--as-of", DAY, "forsale", "--html", tmp_path / "list.html")
    plan = planned(bench(tmp_path / "lane", LOG, date(2026, 1, 20), site='region = "VA"', varieties=VARIETIES))

    told = "By law none goes to or from Delaware, Maine, Massachusetts, North Carolina and Rhode Island"
    page = (tmp_path / "list.html").read_text(encoding="utf-8")
    table = (tmp_path / "list.csv").read_text(encoding="utf-8")
    for text in (page, table, " ".join(screen.stdout.split()), rule_of(task(plan, "1a.offer")).how):
        assert told in text
        assert "Ask the plant health office at both ends." in text


def test_a_seller_in_the_union_is_told_of_the_plant_passport(tmp_path: Path) -> None:
    folder = nursery(tmp_path, country="IE", site="", timezone="Europe/Dublin", latitude=53.3, longitude=-6.3)

    assert "need a plant passport" in " ".join(order(folder, 7, "--country", "IE").split())


@pytest.mark.parametrize(
    ("note", "given"),
    [
        ("permit 1234", True),
        ("Permit no. A-17/4", True),
        ("for spring; PERMIT: 27-114", True),
        ("wants a permit", False),
        ("1234", False),
        ("certificate 12", False),
        ("", False),
    ],
)
def test_a_note_gives_a_permit_where_it_names_one_with_its_number(note: str, given: bool) -> None:
    assert paper_noted(note, "permit") is given
