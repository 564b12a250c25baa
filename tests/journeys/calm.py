"""How calm a nursery's calendar is to read: `python -m tests.journeys.calm [NAME]...` prints it over a year.

Each example is read every few days of its last year, with what was logged by then and what was published before: lines
of `today`, lengths of the entries that come next, titles that in so many letters stand for two things. Nurseries of
thirty lots of seven crops are drawn in the climates of `DRAWN` (`drawn-cold`) and read on each day that asks for
something, of a grower who logs all that shows, and of one who comes to every other round. STICKDATE_DETAIL=N prints the
N longest screens and entries.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from almanac.feed.entry import Entry
from almanac.nursery.load import load_nursery
from almanac.plan.model import Plan
from almanac.terminal.today import today_text
from almanac.words.derivation import rule_of
from almanac.words.tasks import pressing
from tests.examples import EXAMPLES
from tests.journeys.reading.climates import CLIMATES, Climate
from tests.journeys.reading.habits import EVERYTHING, HALF_THE_ROUNDS, Habit
from tests.journeys.reading.walk import Happens, walk
from tests.journeys.year import Year
from tests.nurseries import Parts

DETAIL = int(os.environ.get("STICKDATE_DETAIL", "0"))
IN_FULL = timedelta(days=7)  # rounds are told in full so long before
STRIDE, AHEAD = timedelta(days=6), timedelta(days=31)
LETTERS = (22, 40)
CROPS = ("fig", "grape", "mulberry", "pomegranate", "elderberry", "willow", "black_currant")
DRAWN = ("cold", "mild", "southern")
HABITS: tuple[Habit, ...] = (EVERYTHING, HALF_THE_ROUNDS)


@dataclass
class Calm:
    """What was counted: lines of `today`, letters of entries, by letters of a title the share that is ambiguous.

    `calm` are the lines of days without trouble. `letters` has of each entry also how many its cautions need.
    """

    lines: list[int] = field(default_factory=list)
    calm: list[int] = field(default_factory=list)
    letters: list[tuple[int, int]] = field(default_factory=list)
    titles: int = 0
    ambiguous: dict[int, int] = field(default_factory=dict)
    repeated: dict[int, int] = field(default_factory=dict)
    screens: list[str] = field(default_factory=list)
    long: list[str] = field(default_factory=list)

    def told(self) -> str:
        many = sum(count <= 24 for count in self.calm) / max(len(self.calm), 1)
        shares = {most: (self.ambiguous[most] / self.titles, self.repeated[most] / self.titles) for most in LETTERS}
        titles = "; ".join(f"at {most}: {one:.1%} ambiguous, {two:.1%} alike" for most, (one, two) in shares.items())
        letters = [count for count, _ in self.letters]
        over = sum(count > 1500 for count in letters)
        without = sum(count - cautions > 1500 for count, cautions in self.letters)
        return (
            f"today, {len(self.lines)} days: lines {spread(self.lines)}; {len(self.calm)} without trouble: "
            f"{spread(self.calm)}, {many:.0%} within 24; entries: letters {spread(letters)}, "
            f"{over} of {len(letters)} over 1500, {without} without their cautions; titles {titles}"
        )


def spread(counts: Sequence[int]) -> str:
    """The mean, what nine in ten do not pass, and the most."""
    ordered = sorted(counts)
    return f"{sum(ordered) / len(ordered):.0f} / {ordered[int(0.9 * (len(ordered) - 1))]} / {ordered[-1]}"


Reading = tuple[Plan, Sequence[Entry], str]


def readings(name: str) -> Iterator[Reading]:
    """The plans of an example's last year, with their entries and what `today` says."""
    whole = load_nursery(EXAMPLES / name, datetime(2027, 12, 31, tzinfo=UTC))
    last = max(row.day for row in whole.rows)
    year = Year(whole)
    day = last - timedelta(days=364)
    while day <= last:
        year.rows = [row for row in whole.rows if row.day <= day]
        nursery, plan = year.plan(day)
        year.publish(plan, nursery)
        yield plan, list(year.published.values()), today_text(plan, nursery, 1)
        day += STRIDE


def thirty_lots(climate: Climate, folder: Path, habit: Habit) -> Iterator[Reading]:
    """The year of thirty lots of seven crops, taken and stuck over two winter months, a third of them kept in store."""
    rows = "".join(f"{n},Invented {n},{CROPS[n % len(CROPS)]},own,,4,12,\n" for n in range(1, 16))
    parts = Parts(varieties=f"number,name,crop,source,protected,price_cutting,price_plant,note\n{rows}")
    parts |= Parts(sale="dormant = true", bags=160, space="pots_under_light = 300\npots_outside = 300")
    place = replace(climate, parts=Parts(**(climate.parts | parts)))
    scene: list[Happens] = []
    for number in range(1, 16):
        for letter, later in (("a", 0), ("b", 17)):
            lot = f"{number}{letter}"
            cut = -20 + (5 * number + later) % 30
            scene.append((cut, "taken", {"lot": lot, "variety": str(number), "count": 10}))
            if number % 3 or letter == "a":
                scene.append((cut + 28, "stuck", {"lot": lot, "bin": "ABC"[number % 3]}))
    for read in walk(place.nursery(folder), place, habit, stride=6, scene=sorted(scene, key=lambda each: each[0])):
        yield read.plan, read.entries, read.printed


def saying(plan: Plan) -> dict[str, frozenset[tuple[str, ...]]]:
    """By an entry's id which jobs it asks of which lots, and which it looks at, whatever its day.

    A round further off says that it is one and no more, which nobody can mistake.
    """
    said = {
        str(each.id): frozenset((line.rule.id if line.task else "look", line.bin, line.lot) for line in each.lines)
        for each in plan.rounds
        if each.day <= plan.as_of + IN_FULL
    }
    asked = {task.id: rule_of(task).title if task.clock is None else task.rule.id for task in plan.tasks}
    return said | {str(task.id): frozenset({(asked[task.id], task.bin, *task.lots)}) for task in plan.tasks}


def in_trouble(plan: Plan) -> bool:
    """Whether a trouble or a treatment is asked for today."""
    here = (line.rule for each in plan.rounds if each.day == plan.as_of for line in each.lines if line.task)
    return any(map(pressing, here)) or any(pressing(task.rule) for task in plan.windows_open())


def cautions_of(entry: Entry) -> int:
    """The letters of an entry's cautions."""
    return sum(len(line) + 1 for line in entry.description.splitlines() if line.startswith("! "))


def count(found: Calm, reading: Reading, since: date | None) -> None:
    plan, entries, today = reading
    found.lines.append(len(today.splitlines()))
    found.screens.append(today)
    if not in_trouble(plan):
        found.calm.append(found.lines[-1])
    coming = [each for each in entries if plan.as_of <= each.day <= plan.as_of + AHEAD and each.id.kind != "empty"]
    new = [each for each in coming if since is None or each.day >= since]
    found.letters += [(len(each.description), cautions_of(each)) for each in new if each.day < plan.as_of + STRIDE]
    found.long += [f"{each.summary}\n{each.description}" for each in new if len(each.description) > 1500]
    said = saying(plan)
    coming = [each for each in coming if str(each.id) in said]
    found.titles += len(coming)
    for most in LETTERS:
        alike: dict[str, list[Entry]] = {}
        for each in coming:
            alike.setdefault(each.summary[:most], []).append(each)
        others = [same for same in alike.values() if len({said.get(str(each.id)) for each in same}) > 1]
        found.ambiguous[most] = found.ambiguous.get(most, 0) + sum(map(len, others))
        found.repeated[most] = found.repeated.get(most, 0) + sum(len(same) - 1 for same in alike.values())


def calm(every: Iterator[Reading]) -> Calm:
    found, since = Calm(), None
    for reading in every:
        count(found, reading, since)
        since = reading[0].as_of + STRIDE
    return found


def told(name: str, found: Calm) -> None:
    print(f"{name}: {found.told()}", flush=True)
    for screen in sorted(found.screens, key=lambda each: -len(each.splitlines()))[:DETAIL]:
        print("---", len(screen.splitlines()), "lines\n", screen)
    for text in sorted(set(found.long), key=lambda each: -len(each))[:DETAIL]:
        print("---", len(text), "letters\n", text)


def main(names: Sequence[str]) -> None:
    examples = sorted(each.name for each in EXAMPLES.iterdir() if each.is_dir())
    for name in names or [*examples, *(f"drawn-{each}" for each in DRAWN)]:
        if name in examples:
            told(name, calm(readings(name)))
            continue
        climate = next(each for each in CLIMATES if f"drawn-{each.name}" == name)
        for habit in HABITS:
            with tempfile.TemporaryDirectory() as folder:
                told(f"{name}, who {habit.name}", calm(thirty_lots(climate, Path(folder), habit)))


if __name__ == "__main__":
    main(sys.argv[1:])
