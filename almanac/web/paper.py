"""Pictures and papers as the bench page gives them: a reading in, a file's bytes out."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from markupsafe import Markup

from almanac.actions.look import Reading
from almanac.actions.paper import bench_sheet_pages, helper_pages
from almanac.actions.strike import asked_for, strike_table
from almanac.actions.tags import labels_named, lots_named, tags_for
from almanac.actions.wall import wall_calendar
from almanac.nursery.lots import Lot
from almanac.pictures.chart import chart_long, chart_sheets
from almanac.pictures.chart_rows import season_of
from almanac.pictures.lot_year import lot_picture
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
    """One file that can be opened and printed; `make` takes the reading and the address of the bench page."""

    title: str
    mimetype: str
    make: Callable[[Reading, str], bytes]


def charts(reading: Reading) -> tuple[Markup, Markup]:
    """The season for a wide screen and for a narrow one; its rows lead to their lots."""
    season = season_of(reading.plan, reading.nursery)
    wide, narrow = chart_long(season, _WIDE_MM, ""), chart_long(season, _NARROW_MM, "")
    return Markup(svg(wide, name="wide", inside=True)), Markup(svg(narrow, name="narrow", inside=True))  # escaped there


def made(name: str, reading: Reading, page: str) -> bytes:
    """The bytes of one of `PAPERS`.

    Raises:
        Refusal: the libraries are not there
    """
    return PAPERS[name].make(reading, page)


def _chart_svg(reading: Reading, page: str) -> bytes:
    return svg(chart_long(season_of(reading.plan, reading.nursery), _WIDE_MM, page.rstrip("/"))).encode("utf-8")


def _chart_pdf(reading: Reading, page: str) -> bytes:
    size = sheet_size(reading.nursery.units, landscape=True)
    return pdf(chart_sheets(season_of(reading.plan, reading.nursery), *size), reading.plan.as_of)


def _sheet(reading: Reading, page: str) -> bytes:
    return pdf(bench_sheet_pages(reading), reading.plan.as_of)


def _week(reading: Reading, page: str) -> bytes:
    return pdf(bench_sheet_pages(reading, days=7), reading.plan.as_of)


def _helper(reading: Reading, page: str) -> bytes:
    return pdf(helper_pages(reading), reading.plan.as_of)


def _tags(reading: Reading, page: str) -> bytes:
    return _labels(reading, page, buyers=False)


def _labels(reading: Reading, page: str, *, buyers: bool) -> bytes:
    nursery = reading.nursery
    labels = labels_named(None, None, nursery.units)
    tags, _ = tags_for(reading, lots_named(nursery, ()), buyers=buyers, each=False, page=page)
    return pdf(tag_pages(tags, labels, f"{nursery.name}: tags"), nursery.as_of)


def _wall(reading: Reading, page: str) -> bytes:
    return pdf(wall_calendar(reading, 3), reading.plan.as_of)


def year_of(lot: Lot, reading: Reading) -> bytes:
    """One lot's year as a picture."""
    return svg(lot_picture(lot, reading.plan, reading.nursery)).encode("utf-8")


def _buyers(reading: Reading, page: str) -> bytes:
    return _labels(reading, page, buyers=True)


def _strike(reading: Reading, page: str) -> bytes:
    nursery = reading.nursery
    rates, _ = strike_table(nursery, asked_for(nursery, None, None, None))
    return svg(strike_picture(rates, nursery)).encode("utf-8")


def _room(reading: Reading, page: str) -> bytes:
    return svg(room_picture(reading.plan, reading.nursery.name)).encode("utf-8")


def _site(reading: Reading, page: str) -> bytes:
    return svg(site_picture(reading.nursery, reading.nursery.settings.frost.accept)).encode("utf-8")


_SVG, _PDF = "image/svg+xml", "application/pdf"
PAPERS: Mapping[str, Paper] = {
    "sheet.pdf": Paper(title="Bench sheet: today's round, else the next", mimetype=_PDF, make=_sheet),
    "week.pdf": Paper(title="Bench sheets of the next seven days", mimetype=_PDF, make=_week),
    "helper.pdf": Paper(title="Pages for who helps while you are away", mimetype=_PDF, make=_helper),
    "tags.pdf": Paper(title="Tags for the bags", mimetype=_PDF, make=_tags),
    "buyers.pdf": Paper(title="Tags for plants that leave", mimetype=_PDF, make=_buyers),
    "wall.pdf": Paper(title="The next three months, to hang up", mimetype=_PDF, make=_wall),
    "season.pdf": Paper(title="The season, to print", mimetype=_PDF, make=_chart_pdf),
    "room.svg": Paper(title="Room over time", mimetype=_SVG, make=_room),
    "strike.svg": Paper(title="What strikes", mimetype=_SVG, make=_strike),
    "site.svg": Paper(title="The site's year", mimetype=_SVG, make=_site),
    "season.svg": Paper(title="The season as a picture", mimetype=_SVG, make=_chart_svg),
}
