"""The reading: one lot's year to its second spring, as `stickdate today` prints it, by a grower who does all it asks.

Run `python -m tests.journeys.lot_year` to write the reading in the example anew.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path

from almanac.nursery.load import load_nursery
from almanac.nursery.logbook import Row
from tests.journeys.reading.climates import Climate
from tests.journeys.reading.habits import Habit
from tests.journeys.reading.read import Walk
from tests.journeys.reading.walk import Happens, walk
from tests.nurseries import Parts

EXAMPLE = Path(__file__).parents[2] / "examples" / "quince-lane"
READING = EXAMPLE / "one-lot.md"
HEAD = """\
# One lot's year

Invented, like all of this example. Twelve cuttings of number 8, cut and stuck in December in the same nursery with
nothing else in it, to their second spring. What really grows is drawn from the durations of the rules, one cutting
after the other, and the last of the twelve never roots; the grower looks, counts, logs what shows, and does what the
day asks for. Below stands what `stickdate today` printed on each day that asked for something (of the days on which
plants are only carried out and in again, the first), and after each `>` what was logged.

"""
DOES_ALL = Habit("does all that it asks", signs=True, years=1)
SCENE: tuple[Happens, ...] = (
    (-15, "taken", {"lot": "8a", "variety": "8", "count": 12}),
    (-12, "stuck", {"lot": "8a", "bin": "A"}),
)


def example_season() -> Walk:
    """The example's nursery with one lot in it, from December 2025 to the second June after."""
    base = load_nursery(EXAMPLE, datetime(2030, 1, 1, tzinfo=UTC))
    site = base.settings.site
    place = Parts(latitude=site.latitude, longitude=site.longitude, timezone=site.timezone, frost="its own")
    empty = replace(base, rows=(), every_row=(), order_rows=(), orders={})
    return walk(empty, Climate("the example", place), DOES_ALL, scene=SCENE, winter=2025)


def reading(season: Walk) -> str:
    """The days that asked for something, as text."""
    return "```text\n" + "\n".join(_days(season)) + "```\n"


def _days(season: Walk) -> Iterator[str]:
    for read, following in pairwise(season.reads):
        logged = following.rows[len(read.rows) :]
        asked = any(ask.told == "entry" and ask.rule != "carry" for ask in read.asks)  # carried out and in each day
        if read.round or logged or asked:
            yield f"{read.printed.rstrip()}\n" + "".join(f"> {line}\n" for line in dict.fromkeys(map(_said, logged)))


def _said(row: Row) -> str:
    parts = [row.what, row.lot or row.bin, str(row.count) if row.count else "", row.value]
    return " ".join(filter(None, parts))


if __name__ == "__main__":
    READING.write_text(HEAD + reading(example_season()), encoding="utf-8")
