"""How calm a nursery's calendar is to read: `python -m tests.journeys.calm [EXAMPLE]...` prints it over a year.

Each example is read every few weeks of its last year, with what was logged by then and what was published before: lines
of `today`, lengths of the entries that come next, titles that in so many letters stand for two things.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from almanac.feed.entry import Entry
from almanac.nursery.load import load_nursery
from almanac.plan.model import Plan
from almanac.terminal.today import today_text
from almanac.words.derivation import rule_of
from tests.examples import EXAMPLES
from tests.journeys.year import Year

IN_FULL = timedelta(days=7)  # rounds are told in full so long before
STRIDE, AHEAD = timedelta(days=24), timedelta(days=31)
LETTERS = (22, 40)


@dataclass
class Calm:
    """What was counted: lines of `today`, letters of entries, by letters of a title the share that is ambiguous."""

    lines: list[int] = field(default_factory=list)
    letters: list[int] = field(default_factory=list)
    titles: int = 0
    ambiguous: dict[int, int] = field(default_factory=dict)
    repeated: dict[int, int] = field(default_factory=dict)

    def told(self) -> str:
        many = sum(count <= 24 for count in self.lines) / len(self.lines)
        shares = {most: (self.ambiguous[most] / self.titles, self.repeated[most] / self.titles) for most in LETTERS}
        titles = "; ".join(f"at {most}: {one:.1%} ambiguous, {two:.1%} alike" for most, (one, two) in shares.items())
        long = sum(count > 1500 for count in self.letters)
        return (
            f"today: lines {spread(self.lines)}, {many:.0%} within 24; entries: letters {spread(self.letters)}, "
            f"{long} of {len(self.letters)} over 1500; titles {titles}"
        )


def spread(counts: Sequence[int]) -> str:
    """The mean, what nine in ten do not pass, and the most."""
    ordered = sorted(counts)
    return f"{sum(ordered) / len(ordered):.0f} / {ordered[int(0.9 * (len(ordered) - 1))]} / {ordered[-1]}"


def readings(name: str) -> Iterator[tuple[Plan, list[Entry], str]]:
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


def count(found: Calm, plan: Plan, entries: Sequence[Entry], today: str) -> None:
    found.lines.append(len(today.splitlines()))
    coming = [each for each in entries if plan.as_of <= each.day <= plan.as_of + AHEAD and each.id.kind != "empty"]
    found.letters += [len(each.description) for each in coming if each.day < plan.as_of + STRIDE]
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


def calm(name: str) -> Calm:
    found = Calm()
    for plan, entries, today in readings(name):
        count(found, plan, entries, today)
    return found


def main(names: Sequence[str]) -> None:
    for name in names or sorted(each.name for each in EXAMPLES.iterdir() if each.is_dir()):
        print(f"{name}: {calm(name).told()}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
