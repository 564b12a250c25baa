"""Make the logbook of `examples/millrace`: five invented winters of one bench, drawn from a truth that is known.

Run by hand after a change: python -m tests.outside.make_millrace. The same seed gives the same bytes.

Every cutting's days are drawn as the fig's rule says they spread: about an offset of the grower, of the variety and of
the lot. `TRUTH` holds the offsets of the grower and the varieties, in the logarithm of days at the rule's warmth. The
bench is looked through on Mondays and Thursdays, and what a look shows is logged with its count; callus and bud break
are not always noticed. Of each lot some cuttings never come and are thrown out in the end; now and then mould takes a
whole lot. One date is a slip of the pen by a month, on purpose.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from math import exp
from pathlib import Path
from random import Random

from almanac.forecast.thermal import rate
from almanac.nursery.events import EVENTS
from almanac.nursery.logbook import COLUMNS
from almanac.rulebook.load import load_rules
from almanac.rulebook.models import Crop

FILE = Path(__file__).parents[2] / "examples" / "millrace" / "logbook.csv"
SEED = 20260219
UNTIL = date(2026, 2, 19)
WINTERS = range(2021, 2026)
BINS = {"A": (25.0, 20.0), "B": (23.0, 18.0)}  # base and air [°C], as nursery.toml has them
# The grower's offset for each interval, and each variety's for rooting: this bench roots slower than the rule.
TRUTH = {"callus": 0.10, "roots": 0.26, "budbreak": -0.15, "leaves": 0.05, "drawing": 0.0, "well_rooted": -0.12}
VARIETIES = {"1": -0.06, "2": 0.02, "3": 0.21, "4": -0.02, "5": -0.10, "6": 0.05}
CLOCKS = {
    "callus": "base",
    "roots": "base",
    "budbreak": "air",
    "leaves": "air",
    "drawing": "days",
    "well_rooted": "base",
}
NOTICED = {"callus": 0.5, "budbreak": 0.6}
SLIP = ("2c", "roots")  # the lot and the sign whose date is a month late


@dataclass
class Book:
    """The rows, before they are put in order."""

    rows: list[tuple[date, int, dict[str, str]]] = field(default_factory=list)

    def log(self, day: date, what: str, hour: int = 18, **cells: object) -> None:
        """Note a row, unless its day is still to come."""
        if day <= UNTIL:
            written = {name: str(value) for name, value in cells.items()}
            self.rows.append((day, hour, {"what": what, **written}))

    def text(self) -> str:
        """The logbook."""
        out = io.StringIO()
        writer = csv.DictWriter(out, COLUMNS, restval="", lineterminator="\n")
        writer.writeheader()
        for number, (day, hour, cells) in enumerate(sorted(self.rows, key=lambda row: row[:2]), 1):
            stamp = f"{day}T{hour:02}:{number % 60:02}:00.000+01:00"
            writer.writerow({"id": f"r{number}", "date": str(day), **cells, "logged_at": stamp})
        return out.getvalue()


def logbook() -> str:
    """The whole logbook, as its file holds it."""
    book, draw = Book(), Random(SEED)
    crop = load_rules(None, EVENTS)[0].crops["fig"]  # type: ignore[union-attr]  # the shipped rules have no fault
    letters = dict.fromkeys(VARIETIES, 0)
    for winter in WINTERS:
        stuck = [date(winter, 12, 2) + timedelta(days=draw.choice(range(0, 56, 7))) for _ in range(9)]
        ended = []
        for number, day in enumerate(sorted(stuck)):
            variety = str(number % 6 + 1)
            name = variety + "abcdefghijklmnopqrstuvwxyz"[letters[variety]]
            letters[variety] += 1
            ended.append(_lot(book, draw, crop, name, day, winter))
        _looks(book, min(stuck), max(ended), winter)
    return book.text()


def _looks(book: Book, first: date, last: date, winter: int) -> None:
    if winter == WINTERS[0]:
        for name, (base, air) in BINS.items():
            book.log(first, "mat", 8, bin=name, value=f"{base:g} C")
            book.log(first, "air", 8, bin=name, value=f"{air:g} C")
    for day in _bench_days(first + timedelta(days=1), last):
        for name in BINS:
            book.log(day, "looked", 17, bin=name)


def _bench_days(first: date, last: date) -> Iterator[date]:
    days = (first + timedelta(days=number) for number in range((last - first).days + 1))
    return (day for day in days if day.weekday() in (0, 3))


def _lot(book: Book, draw: Random, crop: Crop, name: str, stuck: date, winter: int) -> date:
    """Log a lot from sticking to the end; gives the day its last bag was opened or thrown out."""
    variety, count, place = name[0], draw.choice((6, 8, 10, 12, 16)), draw.choice("AB")
    book.log(stuck - timedelta(days=draw.randrange(3, 20)), "taken", 16, lot=name, variety=variety, count=count)
    book.log(stuck, "stuck", 19, lot=name, bin=place)
    if draw.random() < 0.08:
        lost = stuck + timedelta(days=draw.randrange(12, 28))
        looked = next(_bench_days(lost, lost + timedelta(days=7)))
        book.log(looked, "mould", lot=name)
        book.log(looked, "discarded", 20, lot=name, count=count, note="mould all through")
        return looked
    shown = {
        sign: _days(draw, crop, sign, variety, count, _warmth(crop, sign, place))
        for sign in ("callus", "roots", "budbreak")
    }
    seen = {sign: _first_seen(stuck, days) for sign, days in shown.items()}
    for sign, (day, many) in seen.items():
        if sign not in NOTICED or draw.random() < NOTICED[sign]:
            logged = day + timedelta(days=30 if (name, sign) == SLIP else 0)
            book.log(logged, sign, lot=name, count=many)
    leaves = _first_seen(
        seen["budbreak"][0], _days(draw, crop, "leaves", variety, count, _warmth(crop, "leaves", place))
    )
    book.log(leaves[0], "leaves", lot=name, count=leaves[1])
    both = max(leaves[0], seen["roots"][0])
    drawing = _first_seen(both, _days(draw, crop, "drawing", variety, count, 1.0))
    book.log(drawing[0], "drawing", lot=name)
    book.log(drawing[0], "watered", 19, lot=name)
    typical = sorted(shown["roots"])[(count - 1) // 2]
    half = stuck + timedelta(days=round(typical))
    grown = sorted(_days(draw, crop, "well_rooted", variety, count, _warmth(crop, "well_rooted", place)))
    ready = next(_bench_days(half + timedelta(days=round(grown[(count - 1) // 2])), date.max - timedelta(days=400)))
    ready = max(ready, drawing[0])
    book.log(ready, "well_rooted", lot=name)
    potted = ready + timedelta(days=draw.randrange(1, 8))
    failed = sum(draw.random() < 0.3 for _ in range(count))
    if failed < count:
        book.log(potted, "potted", 19, lot=name, count=count - failed)
    if failed:
        book.log(potted, "died", 20, lot=name, count=failed, stage="rooting", value="no_roots")
    if failed < count:
        _after_potting(book, draw, name, count - failed, winter)
    return potted


def _after_potting(book: Book, draw: Random, name: str, count: int, winter: int) -> None:
    out = date(winter + 1, 5, 10) + timedelta(days=draw.randrange(8))
    book.log(out, "set_out", lot=name)
    book.log(out + timedelta(days=12), "outside", lot=name)
    book.log(out + timedelta(days=14), "hardened", lot=name)
    sold = draw.randrange(count + 1)
    if sold:
        book.log(out + timedelta(days=draw.randrange(20, 60)), "sold", lot=name, count=sold, stage="outside")
    if count - sold:
        book.log(date(winter + 1, 9, 20), "planted", lot=name, count=count - sold, stage="outside")


def _warmth(crop: Crop, sign: str, place: str) -> float:
    """How many days a day counts."""
    clock, at = CLOCKS[sign], crop.durations[sign].at
    if clock == "days" or at is None:
        return 1.0
    warmth = crop.base if clock == "base" else crop.air
    return rate(warmth, BINS[place][clock == "air"]) / rate(warmth, at)


def _days(draw: Random, crop: Crop, sign: str, variety: str, count: int, warmth: float) -> list[float]:
    """Days of each cutting of a lot from the start of an interval."""
    rule = crop.durations[sign]
    offset = TRUTH[sign] + (VARIETIES[variety] if sign == "roots" else 0.0) + draw.gauss(0, rule.between_lots)
    return [rule.median / warmth * exp(offset + draw.gauss(0, rule.spread)) for _ in range(count)]


def _first_seen(start: date, days: list[float]) -> tuple[date, int]:
    """The first look that shows it, and on how many."""
    look = next(_bench_days(start + timedelta(days=int(min(days)) + 1), start + timedelta(days=1000)))
    return look, sum(each <= (look - start).days for each in days)


if __name__ == "__main__":
    FILE.write_text(logbook(), encoding="utf-8")
    print(FILE, len(FILE.read_text(encoding="utf-8").splitlines()), "lines")
