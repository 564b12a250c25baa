"""A phone that has nothing but its camera: the code in the terminal lets it in, the code on the page subscribes it.

zxing-cpp reads the codes as they are shown, urllib asks, vobject reads the calendar: none knows anything of ours.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from datetime import date
from http.cookiejar import CookieJar
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import HTTPCookieProcessor, OpenerDirector, build_opener

import fpdf
import numpy as np
import pypdfium2
import pytest
import vobject
import zxingcpp
from fpdf.svg import SVGObject

from almanac.actions.publish import published_name
from almanac.web.keys import load_keys
from almanac.web.server import addresses
from tests.command import stickdate
from tests.nurseries import bench

pytestmark = pytest.mark.start
LOG = """
2026-01-05 received 7a --count 12 --stage rooting --bin A
2026-01-12 looked 7a
"""
DAY = date(2026, 1, 13)
WIDE, HIGH = 80, 24  # the smallest terminal that is still common


@pytest.fixture
def nursery(tmp_path: Path) -> Path:
    return bench(tmp_path / "lane", LOG, DAY).folder


@pytest.fixture
def screen(nursery: Path) -> Iterator[str]:
    """What `serve` shows when it listens to the network."""
    if addresses("0.0.0.0", 0).only_here:
        reason = "this machine has no address but loopback"
        pytest.fail(reason) if os.environ.get("STICKDATE_CI") else pytest.skip(reason)
    command = [sys.executable, "-m", "almanac.cli.main", "--nursery", str(nursery), "--as-of", str(DAY)]
    command += ["serve", "--host", "0.0.0.0", "--port", "0"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, encoding="utf-8", env=_utf8()) as server:
        try:
            assert server.stdout is not None
            shown = ""
            for line in server.stdout:
                shown += line
                if "/everything.ics" in line:
                    break
            yield shown
        finally:
            server.terminate()


def _utf8() -> dict[str, str]:
    return {**os.environ, "PYTHONIOENCODING": "utf-8"}


def scanned(picture: np.ndarray) -> str:
    """What a camera reads of a picture."""
    (code,) = zxingcpp.read_barcodes(picture)
    return str(code.text)


def of_terminal(text: str) -> np.ndarray:
    """A code of half blocks as the eye sees it: light signs on a dark ground."""
    halves = {"█": (255, 255), "▀": (255, 0), "▄": (0, 255), " ": (0, 0)}
    lines = [line for line in text.splitlines() if line and set(line) <= set(halves)]
    dots = np.array([[halves[sign][half] for sign in line] for line in lines for half in (0, 1)], dtype=np.uint8)
    return np.kron(np.pad(dots, 4, constant_values=255), np.ones((8, 8), dtype=np.uint8))


def of_page(html: str) -> np.ndarray:
    """The picture of a code on a page, drawn and put on paper by others."""
    drawn = re.search(r"<svg[^>]*class=\"code\".*?</svg>", html, re.S)
    assert drawn
    paper = fpdf.FPDF(unit="mm", format=(80, 80))
    paper.add_page()
    size = '<svg xmlns="http://www.w3.org/2000/svg" width="70mm" height="70mm" '
    SVGObject(drawn[0].replace("<svg ", size)).draw_to_page(paper, 5, 5)
    page = pypdfium2.PdfDocument(bytes(paper.output()))[0]
    return np.asarray(page.render(scale=6).to_numpy()[:, :, 0])


def phone() -> OpenerDirector:
    return build_opener(HTTPCookieProcessor(CookieJar()))


def read(who: OpenerDirector, address: str) -> str:
    with who.open(address, timeout=20) as answer:
        return str(answer.read().decode())


def titles(calendar: str) -> list[str]:
    return [str(event.summary.value) for event in vobject.readOne(calendar).vevent_list]


def test_all_that_serve_says_stays_on_a_small_screen(screen: str) -> None:
    lines = screen.splitlines()

    assert len(lines) < HIGH  # the cursor takes the last
    assert max(map(len, lines)) <= WIDE
    assert len(re.findall(r"http://\S+", screen)) == 2  # one address to use, of the page and of the calendar


def test_a_phone_gets_the_calendar_through_codes_alone(screen: str, nursery: Path) -> None:
    paired, calendar = phone(), phone()

    first = read(paired, scanned(of_terminal(screen)))
    code = scanned(of_page(read(paired, _page(screen) + "calendar")))
    found = read(calendar, code.replace("webcal://", "http://"))

    assert "<h1>" in first
    assert code.startswith("webcal://")
    assert titles(found) == titles((nursery / "calendar" / "everything.ics").read_text(encoding="utf-8"))
    assert len(titles(found)) > 5


def test_a_paired_phone_lets_in_another_and_no_one_else_gets_that_code(screen: str) -> None:
    paired, other = phone(), phone()
    read(paired, scanned(of_terminal(screen)))

    with pytest.raises(HTTPError) as before:
        read(other, _page(screen) + "pair")
    read(other, scanned(of_page(read(paired, _page(screen) + "pair"))))

    assert before.value.code == 404
    assert b"svg" not in before.value.read()
    assert "<h1>" in read(other, _page(screen))


def test_a_published_calendar_shows_its_code_too(nursery: Path, tmp_path: Path) -> None:
    said = stickdate(
        "--nursery", nursery, "--as-of", DAY, "publish", tmp_path / "shown", "--base-url", "https://example.org/cal"
    ).stdout

    name = published_name(load_keys(nursery).published, "everything.ics")
    assert scanned(of_terminal(said)) == f"https://example.org/cal/{name}"


def _page(screen: str) -> str:
    """The bench page's address without its key."""
    found = re.search(r"(http://\S+/)k/\S+", screen)
    assert found
    return found[1]
