"""Pictures and papers as the bench page gives them: a reading in, a file's bytes out."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial

from markupsafe import Markup

from almanac.actions.look import Reading
from almanac.actions.paper import bench_sheet_pages, helper_pages
from almanac.actions.strike import asked_for, strike_table
from almanac.actions.tags import labels_named, lots_named, tags_for
from almanac.actions.wall import wall_calendar
from almanac.pictures.chart import chart_long, chart_sheets
from almanac.pictures.chart_rows import season_of
from almanac.pictures.drawing import Drawing
from almanac.pictures.paper import pdf
from almanac.pictures.room import room_picture
from almanac.pictures.site_year import site_picture
from almanac.pictures.strike import strike_picture
from almanac.pictures.style import sheet_size
from almanac.pictures.svg import svg
from almanac.pictures.tags import tag_pages
from almanac.plain import dataclass

_WIDE_MM, _NARROW_MM = 300.0, 95.0  # of a screen of 1280 px, less its margins, and of one of 360 px


@dataclass(frozen=True, kw_only=True)
class Paper:
    """One file that can be opened and printed; `make` takes the reading and the address of the bench page.

    It raises a Refusal where the libraries are not there.
    """

    title: str
    mimetype: str
    make: Callable[[Reading, str], bytes]


def charts(reading: Reading) -> tuple[Markup, Markup]:
    """The season for a wide screen and for a narrow one; its rows lead to their lots."""
    season = season_of(reading.plan, reading.nursery)
    wide, narrow = chart_long(season, _WIDE_MM, ""), chart_long(season, _NARROW_MM, "")
    return Markup(svg(wide, name="wide", inside=True)), Markup(svg(narrow, name="narrow", inside=True))  # escaped there


def _pdf(title: str, pages: Callable[[Reading, str], Sequence[Drawing]]) -> Paper:
    def make(reading: Reading, page: str) -> bytes:
        return pdf(pages(reading, page), reading.plan.as_of)

    return Paper(title=title, mimetype="application/pdf", make=make)


def _svg(title: str, picture: Callable[[Reading, str], Drawing]) -> Paper:
    def make(reading: Reading, page: str) -> bytes:
        return svg(picture(reading, page)).encode("utf-8")

    return Paper(title=title, mimetype="image/svg+xml", make=make)


def _season(reading: Reading, page: str) -> Sequence[Drawing]:
    size = sheet_size(reading.nursery.units, landscape=True)
    return chart_sheets(season_of(reading.plan, reading.nursery), *size)


def _labels(reading: Reading, page: str, *, buyers: bool) -> Sequence[Drawing]:
    nursery = reading.nursery
    labels = labels_named(None, None, nursery.units)
    tags, _ = tags_for(reading, lots_named(nursery, ()), buyers=buyers, each=False, page=page)
    return tag_pages(tags, labels, f"{nursery.name}: tags")


def _strike(reading: Reading, page: str) -> Drawing:
    rates, _ = strike_table(reading.nursery, asked_for(reading.nursery, None, None, None))
    return strike_picture(rates, reading.nursery)


def _site(reading: Reading, page: str) -> Drawing:
    return site_picture(reading.nursery, reading.nursery.settings.frost.accept)


def _long(reading: Reading, page: str) -> Drawing:
    return chart_long(season_of(reading.plan, reading.nursery), _WIDE_MM, page.rstrip("/"))


PAPERS: Mapping[str, Paper] = {
    "sheet.pdf": _pdf("Bench sheet: today's round, else the next", lambda seen, _: bench_sheet_pages(seen)),
    "week.pdf": _pdf("Bench sheets of the next seven days", lambda seen, _: bench_sheet_pages(seen, days=7)),
    "helper.pdf": _pdf("Pages for who helps while you are away", lambda seen, _: helper_pages(seen)),
    "tags.pdf": _pdf("Tags for the bags", partial(_labels, buyers=False)),
    "buyers.pdf": _pdf("Tags for plants that leave", partial(_labels, buyers=True)),
    "wall.pdf": _pdf("The next three months, to hang up", lambda seen, _: wall_calendar(seen, 3)),
    "season.pdf": _pdf("The season, to print", _season),
    "room.svg": _svg("Room over time", lambda seen, _: room_picture(seen.plan, seen.nursery.name)),
    "strike.svg": _svg("What strikes", _strike),
    "site.svg": _svg("The site's year", _site),
    "season.svg": _svg("The season as a picture", _long),
}
