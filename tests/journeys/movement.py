"""How much of a calendar moves from one morning to the next, and at a look; how near published dates come true.

    python -m tests.journeys.movement [quiet|looks|error] [NAME ...]

`quiet` walks mornings with nothing logged, `looks` lets a diligent grower log looks and nothing else, of the examples
and of nurseries of 18 and 60 lots drawn by `tests/outside/growers`; `error` holds what was published 7, 14 and 28 days
ahead against what the drawn lots came to, beside the bare forecast of the same day. STICKDATE_MORNINGS: how many
mornings (90); STICKDATE_LOTS: the sizes of drawn nurseries ("18 60"), and their STICKDATE_SEED; STICKDATE_HABITS: of
logging, of those that `error` knows; STICKDATE_DETAIL: so many lines of what changed.

**What date is published for potting up.** That on which the phone, on the morning so many days before a lot is potted,
next puts it to the grower: the day of the entry to come that holds the lot; where that entry is over, the first round
to come that asks whether its roots are through, or that names its potting as still to do; where there is none, the day
gone by of the entry that is over. An act whose day went by stays where it was and becomes a question, so that a day
gone by is no answer to "when do I pot these up?", and the next asking is. How far off the entries alone lay, questions
left out, is told beside it, as is the standard error of the difference from the bare forecast: of 18 lots of one habit
it is nearly a day, of 60 half a day and more. So what is no worse by 0.3 days is judged over all habits together.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from difflib import ndiff
from pathlib import Path
from statistics import mean, stdev

from almanac.feed.entries import entries_of
from almanac.feed.entry import Entry
from almanac.nursery.load import load_nursery
from almanac.nursery.nursery import Nursery
from almanac.plan.agenda.dated import dated
from almanac.plan.build import context_of
from almanac.plan.care.proposed import proposed
from almanac.plan.ids import EntryId
from almanac.plan.model import Plan, Task
from tests.examples import EXAMPLES, STATES
from tests.journeys.year import Year
from tests.nurseries import bench
from tests.outside.growers import BASE, LOOK_DAYS, Truth, draw_growers

MORNINGS = int(os.environ.get("STICKDATE_MORNINGS", "90"))
DETAIL = int(os.environ.get("STICKDATE_DETAIL", "0"))
SIZES = tuple(map(int, os.environ.get("STICKDATE_LOTS", "18 60").split()))
LEADS = (7, 14, 28)
HABITS = tuple(os.environ.get("STICKDATE_HABITS", "everything half late looks sparse").split())
SEED = int(os.environ.get("STICKDATE_SEED", "5"))
_MISSED = 7
_POTS_UP = ("pot_up", "roots_through")  # the task, and what is asked once half of a lot is likely ready
KINDS = ("moved", "reworded", "added", "removed")
_DAY = timedelta(days=1)


@dataclass
class Morning:
    """What changed from one publication to the next, of the entries still to come."""

    day: date
    both: int
    moved: list[EntryId] = field(default_factory=list)
    reworded: list[EntryId] = field(default_factory=list)
    added: list[EntryId] = field(default_factory=list)
    removed: list[EntryId] = field(default_factory=list)
    lines: Counter[str] = field(default_factory=Counter)

    @property
    def share(self) -> float:
        """Of the entries to come in both, how many moved or were reworded."""
        return (len(self.moved) + len(self.reworded)) / max(self.both, 1)


def compared(before: Sequence[Entry], after: Sequence[Entry], day: date) -> Morning:
    """What of the entries to come on a day is another in a later publication."""
    old, new = ({each.id: each for each in entries if each.day >= day} for entries in (before, after))
    found = Morning(day, len(old.keys() & new.keys()))
    found.added, found.removed = sorted(new.keys() - old.keys()), sorted(old.keys() - new.keys())
    for name in sorted(old.keys() & new.keys()):
        was, now = old[name], new[name]
        if was.day != now.day:
            found.moved.append(name)
        elif was.digest() != now.digest():
            found.reworded.append(name)
            words = zip((was.summary, was.description), (now.summary, now.description), strict=True)
            pairs = [(a.splitlines(), b.splitlines()) for a, b in words]
            found.lines.update({line for a, b in pairs for line in ndiff(a, b) if line[0] in "+-"})
            found.lines.update(["holds"] if was.holds != now.holds else [])
    return found


def year_of_example(name: str, folder: Path) -> tuple[Year, date]:
    """An example as it stands on the day of its page."""
    day, place = STATES[name], folder / name
    shutil.copytree(EXAMPLES / name, place, ignore=shutil.ignore_patterns("calendar"))
    nursery = load_nursery(place, datetime.combine(day, datetime.min.time(), UTC) + timedelta(hours=17))
    year = Year(nursery, [row for row in nursery.every_row if row.day <= day])
    return year, day


def year_of_lots(lots: int, folder: Path, seed: int = 5) -> tuple[Year, date, dict[str, Truth]]:
    """A drawn nursery on the day its last lot is stuck, and what becomes of each lot."""
    grower = draw_growers(1, lots, BASE, seed)[0]
    truths: dict[str, Truth] = {}
    log: list[tuple[date, str]] = []
    for number, truth in enumerate(grower):
        start = date(2026, 1, 1) + (truth.stuck - date(truth.stuck.year, 1, 1))
        letter = chr(ord("a") + sum(name.startswith(f"{truth.variety}") for name in truths))
        name = f"{truth.variety}{letter}"
        if letter > "z":
            break
        truths[name] = truth
        log.append((start - _DAY * 10, f"taken {name} --count {truth.of}"))
        log.append((start, f"stuck {name} --bin {'ABCD'[number % 4]}"))
    text = "\n".join(f"{day} {words}" for day, words in sorted(log))
    nursery = bench(folder / f"of-{lots}", text, date(2026, 3, 1), bins="ABCD", bags=500)
    rows = list(nursery.every_row)
    return Year(nursery, rows), max(row.day for row in rows if row.what == "stuck"), truths


def _seen(year: Year, day: date) -> Year:
    """The same with what was logged up to a day."""
    return Year(year.base, [row for row in year.rows if row.day <= day], dict(year.published), year.numbers)


def publish(year: Year, day: date) -> tuple[Nursery, Plan, list[Entry]]:
    nursery, plan = _seen(year, day).plan(day)
    entries = entries_of(plan, nursery)
    over = {name: entry for name, entry in year.published.items() if entry.day < day}
    year.published = {entry.id: entry for entry in entries} | over
    return nursery, plan, entries


def quiet(year: Year, first: date, days: int) -> Iterator[Morning]:
    """Mornings with nothing logged."""
    *_, before = publish(year, first)
    for number in range(1, days + 1):
        day = first + timedelta(days=number)
        *_, after = publish(year, day)
        yield compared(before, after, day)
        before = after


def looks_only(year: Year, first: date, days: int) -> Iterator[tuple[Morning, Morning, Morning]]:
    """At each round of a grower who logs that all was looked at and nothing else, what that look changed.

    The second leaves out what moved of the next two entries of each lot that was looked at: of what is asked of it, or
    of the bin it stands in as one, as its lamp at the first green. The third counts a bin's entries as no lot's steps.
    """
    for number in range(days + 1):
        day = first + timedelta(days=number)
        _, plan, before = publish(year, day)
        lots = [line.lot for each in plan.rounds if each.day == day for line in each.lines if line.look]
        if not lots:
            continue
        for name in dict.fromkeys(filter(None, lots)):
            year.log(day, "looked", name)
        *_, after = publish(year, day)
        found = compared(before, after, day)
        asked = {task.id: task.lots for task in plan.tasks}
        of_bins = {task.id for task in plan.tasks if task.rule.scope == "bin"}
        coming = sorted((each for each in before if each.id.kind != "round" and each.day >= day), key=lambda e: e.day)
        near, nearest = set[EntryId](), set[EntryId]()
        for name in lots:
            own = [each.id for each in coming if _about(each, name) or name in asked.get(each.id, ())]
            near |= set(own[:2])
            nearest |= set([each for each in own if each not in of_bins][:2])
        moved = ([each for each in found.moved if each not in apart] for apart in (near, nearest))
        far, farther = (Morning(day, found.both, each) for each in moved)
        yield found, far, farther


def _about(entry: Entry, lot: str) -> bool:
    return lot in {own.about for own in (entry.id, *entry.holds)}


def error(year: Year, truths: dict[str, Truth], habit: str) -> dict[int, list[tuple[int, int, int]]]:
    """By lead, how far from the day of potting that which was published lay, the bare forecast, and the entry [days].

    A grower of `everything` logs the signs that show at looks and pots on the true day, one of `half` every second look
    and what it shows, one of `late` all of it a week after, one of `looks` no signs, one of `sparse` sticking and
    potting alone.
    """
    found: dict[int, list[tuple[int, int, int]]] = {}
    starts = {row.lot: row.day for row in year.rows if row.what == "stuck"}
    last = max(starts[name] + _DAY * (truth.potted_day or 0) for name, truth in truths.items())
    day = min(starts.values())
    done: set[tuple[str, str]] = set()
    waits, rows = _DAY * (7 if habit == "late" else 0), list[tuple[date, str, str]]()
    while day <= last:
        for row in [row for row in rows if row[0] + waits <= day]:
            rows.remove(row)
            year.log(*row)
        nursery, plan, _ = publish(year, day)
        due = {
            (name, lead)
            for name, truth in truths.items()
            for lead in LEADS
            if truth.potted_day and starts[name] + _DAY * (truth.potted_day - lead) == day
        }
        if due:
            context = context_of(nursery)  # rounds, which take longest, move no window
            bare, _ = dated(proposed(context), context)
            for name, lead in due:
                true = day + _DAY * lead
                entry, here = _day_of(plan.tasks, name), _day_of(bare, name)
                if entry and here:
                    days = (_asked_on(plan, name, entry), here, entry)
                    found.setdefault(lead, []).append(tuple(abs((each - true).days) for each in days))  # type: ignore[arg-type]  # three
        for name, truth in truths.items():
            age = (day - starts[name]).days
            if age < 0 or (name, "potted") in done:
                continue
            if age % LOOK_DAYS == 3 and habit != "sparse" and not (habit == "half" and age // LOOK_DAYS % 2):
                rows.append((day, "looked", name))
                sees = habit in ("everything", "half", "late")
                signs = {"roots": truth.first_root, "well_rooted": truth.half_grown} if sees else {}
                for sign, came in signs.items():
                    if came <= age and (name, sign) not in done:
                        done.add((name, sign))
                        rows.append((day, sign, name))
            if truth.potted_day is not None and age >= truth.potted_day:
                done.add((name, "potted"))
                rows.append((day, "potted", name))
        if not waits:
            for row in rows:
                year.log(*row)
            rows.clear()
        day += _DAY
    return found


def _day_of(tasks: Iterable[Task], lot: str) -> date | None:
    wanted = EntryId(lot, "pot_up")
    return next((task.due for task in tasks for own in task.own if own.id == wanted), None)


def _asked_on(plan: Plan, lot: str, entry: date) -> date:
    """The day on which potting a lot up is next put to the grower: its entry's, or once that is over a round's."""
    if entry >= plan.as_of:
        return entry
    asks = (
        each.day
        for each in plan.rounds
        for line in each.lines
        if line.rule.id in _POTS_UP and line.task is not None and lot in line.task.lots
    )
    return next(asks, entry)


def _told(name: str, mornings: Sequence[Morning]) -> None:
    shares, number = [each.share for each in mornings], max(len(mornings), 1)
    changed = [len(each.moved) + len(each.reworded) for each in mornings]
    over = sum(share > 0.15 and many > 3 for share, many in zip(shares, changed, strict=True))
    total = {what: sum(len(getattr(each, what)) for each in mornings) for what in KINDS}
    entries = sum(each.both for each in mornings) / number
    print(
        f"{name:14} {len(mornings):3} times, {entries:4.0f} entries  mean {sum(shares) / number:6.1%}"
        f"  worst {max(shares, default=0):6.1%}, {max(changed, default=0)}  too many on {over}"
        f"  {', '.join(f'{what} {many}' for what, many in total.items())}",
        flush=True,
    )


def _in_detail(mornings: Sequence[Morning], most: int) -> None:
    """Which entries changed, on which days, and the lines that did most often."""
    for what in KINDS:
        names = Counter(name.rule or name.kind for each in mornings for name in getattr(each, what))
        print(f"   {what}", names.most_common(20))
    lines: Counter[str] = Counter()
    for each in mornings:
        lines.update(each.lines)
        if each.share > 0.1:
            print(f"   {each.day:%a %d %b}: {len(each.moved)} moved, {len(each.reworded)} reworded of {each.both}")
    for line, number in lines.most_common(most):
        print(f"   {number:4} {line[:170]}")


def _errors(name: str, folder: Path) -> None:
    """By habit and lead, and by lead over all habits together."""
    every: dict[int, list[tuple[int, int, int]]] = {}
    for habit in HABITS:
        year, _, truths = year_of_lots(int(name), folder / habit, SEED)
        for lead, lots in sorted(error(year, truths, habit).items()):
            every.setdefault(lead, []).extend(lots)
            _told_error(f"{name:4} {habit:10} {lead:2}", lots)
    for lead, lots in every.items():
        _told_error(f"{name:4} all habits {lead:2}", lots)


def _told_error(what: str, lots: Sequence[tuple[int, int, int]]) -> None:
    ours, bare, entry = (mean(each[at] for each in lots) for at in range(3))
    missed = [sum(each[at] > _MISSED for each in lots) for at in range(3)]
    sure = stdev([each[0] - each[1] for each in lots]) / len(lots) ** 0.5
    told = f"{ours:5.2f} d off as published, {bare:5.2f} d bare, {ours - bare:+5.2f} ± {sure:.2f} ({len(lots)} lots)"
    told += f"; {missed[0]} and {missed[1]} off by more than a week; entries alone {entry:5.2f} d, {missed[2]}"
    print(f"{what} days ahead: {told}", flush=True)


def main(words: Sequence[str]) -> None:
    what, names = (words[0] if words else "quiet"), list(words[1:]) or [*STATES, *map(str, SIZES)]
    for name in names:
        with tempfile.TemporaryDirectory() as place:
            if what == "error":
                _errors(name, Path(place))
                continue
            year, first = (
                year_of_lots(int(name), Path(place))[:2] if name.isdigit() else year_of_example(name, Path(place))
            )
            if what == "quiet":
                mornings = list(quiet(year, first, MORNINGS))
                _told(name, mornings)
            else:
                both = list(looks_only(year, first, MORNINGS))
                mornings = [each[0] for each in both]
                _told(name, mornings)
                far, apart = (sum(len(each[at].moved) for each in both) / max(len(both), 1) for at in (1, 2))
                reworded = sum(len(each.reworded) for each in mornings) / max(sum(each.both for each in mornings), 1)
                print(
                    f"{'':14} moved a round beyond the next two steps of its lots: {far:.2f}, {apart:.2f} if what is a"
                    f" bin's is no step of theirs; reworded {reworded:.1%}",
                    flush=True,
                )
            if DETAIL:
                _in_detail(mornings, DETAIL)


if __name__ == "__main__":
    main(sys.argv[1:])
