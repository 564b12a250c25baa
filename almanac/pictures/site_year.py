"""The year of a site as a picture: the chance of frost in spring and autumn, day length and light. Writes one file.

Made for black and white: lines differ by style and carry their names; the tint only repeats what lines and words say.
"""

from __future__ import annotations

import warnings
from datetime import date, timedelta
from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING

from almanac import units
from almanac.faults import Fact, Refusal
from almanac.nursery.nursery import Nursery
from almanac.site.light import clear_day, dli_mol, usual_mj
from almanac.site.sun import CIVIL_TWILIGHT_DEG, day_length_at
from almanac.words.dates import day, month

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_SIZE_IN = (8.3, 7.6)
_DOTS_PER_IN = 150
_TINT = "0.88"
_BOX: dict[str, str | float] = {"facecolor": "white", "edgecolor": "none", "pad": 1.0}


def draw_site_year(nursery: Nursery, accept: float, file: Path) -> None:
    """Draw the year round `as_of`, from January in the north and from July in the south.

    Args:
        nursery: as loaded
        accept: the chance of a later frost that the grower accepts, 0 to 1
        file: where to; its ending says the kind, .png or .svg
    Raises:
        Refusal: another ending, or the plotting library is not there
    """
    if file.suffix.lower() not in (".png", ".svg"):
        raise Refusal(Fact("not_picture", file=file))
    try:
        import matplotlib
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure
    except ImportError:
        raise Refusal(Fact("no_pictures")) from None
    year = _days(nursery)
    # Text stays text in an SVG, and the same data give the same file.
    with (
        matplotlib.rc_context({"svg.fonttype": "none", "svg.hashsalt": "stickdate", "font.size": 10}),
        warnings.catch_warnings(),
    ):
        warnings.filterwarnings("ignore", message="Glyph")  # a name in letters that the font lacks shows as boxes
        figure = Figure(figsize=_SIZE_IN, layout="constrained")
        FigureCanvasAgg(figure)
        above, middle, below = figure.subplots(3, 1, sharex=True, height_ratios=[3, 2, 2])
        figure.suptitle(fill(_title(nursery, year), 80), x=0.02, ha="left", fontsize=12, parse_math=False)
        _frost(above, nursery, accept, year)
        _day_length(middle, nursery, year)
        _light(below, nursery, year)
        for axes in (above, middle, below):
            _calendar(axes, nursery, year)
        _today(below, nursery.as_of)
        source = fill(f"Frost: {nursery.frost.source}. Light: clear sky after FAO paper 56.", 115)
        figure.supxlabel(source, x=0.02, ha="left", fontsize=8, parse_math=False)
        metadata = {"Date": None} if file.suffix.lower() == ".svg" else {"Software": None}
        figure.savefig(file, dpi=_DOTS_PER_IN, metadata=metadata)


def _days(nursery: Nursery) -> list[date]:
    as_of = nursery.as_of
    first = date(as_of.year, 1, 1)
    if nursery.place.southern:
        first = date(as_of.year - (as_of.month < 7), 7, 1)
    last = first.replace(year=first.year + 1)
    return [first + timedelta(days=n) for n in range((last - first).days)]


def _title(nursery: Nursery, year: list[date]) -> str:
    place, first, last = nursery.place, year[0], year[-1]
    when = f"{first.year}" if first.year == last.year else f"{day(first)} {first.year} to {day(last)} {last.year}"
    where = place.town or f"{place.latitude_deg:g}, {place.longitude_deg:g}"
    return f"{nursery.settings.nursery.name}: {where}, {when}"


def _x(found: date) -> int:
    """Matplotlib's own number of a date: days since 1970."""
    return found.toordinal() - date(1970, 1, 1).toordinal()


def _frost(axes: Axes, nursery: Nursery, accept: float, year: list[date]) -> None:
    frost = nursery.frost
    threshold = units.temperature(frost.threshold_c, nursery.settings.nursery.units)
    estimate = ", an estimate" if frost.estimate else ""
    axes.set_title(f"Chance of a night at or below {threshold}{estimate}", loc="left", fontsize=10)
    axes.set_ylim(0, 100)
    axes.set_yticks([0, 25, 50, 75, 100], ["0 %", "25 %", "50 %", "75 %", "100 %"])
    if frost.spring is None:
        axes.text(0.5, 0.5, "It does not freeze here.", transform=axes.transAxes, ha="center", bbox=_BOX)
        return
    turn = next(found for found in year if (found.month, found.day) == ((2, 1) if frost.southern else (8, 1)))
    spring, autumn = [found for found in year if found < turn], [found for found in year if found >= turn]
    axes.plot([_x(found) for found in spring], [100 * frost.chance_after(found) for found in spring], "k-", lw=1.8)
    axes.plot([_x(found) for found in autumn], [100 * frost.chance_before(found) for found in autumn], "k--", lw=1.8)
    _name(axes, spring, [100 * frost.chance_after(found) for found in spring], 50, "still to come", "left")
    _name(axes, autumn, [100 * frost.chance_before(found) for found in autumn], 50, "has come", "right")
    axes.axhline(100 * accept, color="k", lw=0.8, ls=":")
    safe = [found for found in year if min(frost.chance_after(found), frost.chance_before(found)) <= accept]
    if not safe:
        return
    first, last = safe[0], safe[-1]
    if (last - first).days + 1 == len(safe):
        axes.axvspan(_x(first), _x(last), color=_TINT, lw=0)
        words = f"no likelier than the {100 * accept:g} % accepted:\n{day(first)} to {day(last)}"
        if len(safe) == len(year):
            words = f"all year no likelier than the {100 * accept:g} % accepted"
        middle = (_x(first) + _x(last)) / 2
        axes.text(
            middle,
            max(100 * accept + 6, 62),
            words,
            ha="center",
            va="bottom",
            fontsize=9,
            bbox=_BOX | {"facecolor": _TINT},
        )


def _name(axes: Axes, found: list[date], values: list[float], at: float, words: str, side: str) -> None:
    """Write the name of a line beside where it passes a value, on its outer side."""
    crossing = next(
        (
            n
            for n in range(1, len(values))
            if (values[n - 1] - at) * (values[n] - at) <= 0 and values[n] != values[n - 1]
        ),
        None,
    )
    if crossing is None:
        return
    align = "right" if side == "left" else "left"
    shift = -6 if side == "left" else 6
    axes.annotate(
        words,
        (_x(found[crossing]), values[crossing]),
        xytext=(shift, 0),
        textcoords="offset points",
        ha=align,
        va="center",
        fontsize=9,
        bbox=_BOX,
    )


def _day_length(axes: Axes, nursery: Nursery, year: list[date]) -> None:
    axes.set_title("Day length, hours", loc="left", fontsize=10)
    x = [_x(found) for found in year]
    day_h = [day_length_at(nursery.place, found) for found in year]
    twilight_h = [day_length_at(nursery.place, found, CIVIL_TWILIGHT_DEG) for found in year]
    axes.plot(x, twilight_h, "k--", lw=1.2, label="with civil twilight")
    axes.plot(x, day_h, "k-", lw=1.8, label="sunrise to sunset")
    low, high = min(day_h), max(twilight_h)
    axes.set_ylim(max(0, low - 1), min(24.5, high + 1))
    axes.legend(
        fontsize=9, edgecolor="none", framealpha=1, loc="lower center" if _bulges(day_h) else "upper center", ncols=2
    )


def _bulges(values: list[float]) -> bool:
    """Whether a line is higher in its middle than at its ends, so that its legend fits under it."""
    return values[len(values) // 2] >= values[0]


def _light(axes: Axes, nursery: Nursery, year: list[date]) -> None:
    axes.set_title("Light, mol/m² a day (DLI)", loc="left", fontsize=10)
    x = [_x(found) for found in year]
    clear = [clear_day(nursery.place, found).dli_mol for found in year]
    axes.plot(x, clear, "k-", lw=1.8, label="clear sky")
    usual = [usual_mj(nursery.place, found) for found in year]
    if nursery.place.radiation_mj:
        axes.plot(x, [dli_mol(each or 0.0) for each in usual], "k--", lw=1.8, label="usual")
    axes.set_ylim(0, max(clear) * 1.1 + 1)
    axes.legend(
        fontsize=9, edgecolor="none", framealpha=1, loc="lower center" if _bulges(clear) else "upper center", ncols=2
    )


def _calendar(axes: Axes, nursery: Nursery, year: list[date]) -> None:
    """Months along the foot, today as a line, light guides."""
    firsts = [found for found in year if found.day == 1]
    axes.set_xlim(_x(year[0]), _x(year[-1]) + 1)
    axes.set_xticks([_x(found) for found in firsts], labels=[month(found) for found in firsts], ha="left")
    axes.grid(color="0.8", lw=0.5)
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)
    axes.axvline(_x(nursery.as_of), color="k", lw=1.2, ls=(0, (1, 3)))


def _today(axes: Axes, as_of: date) -> None:
    axes.annotate(
        f"today, {day(as_of)}",
        (_x(as_of), 0),
        xycoords=("data", "axes fraction"),
        xytext=(0, -22),
        textcoords="offset points",
        ha="center",
        va="top",
        fontsize=9,
    )
