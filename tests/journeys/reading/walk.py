"""Walks a nursery through its season: on each day that asks for something it is read, then its grower does things."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from almanac.feed.entries import entries_of
from almanac.nursery.events import EVENTS
from almanac.nursery.logbook import Row
from almanac.nursery.nursery import Nursery
from almanac.terminal.today import today_text
from almanac.words.tasks import how_to_log_task
from tests.journeys.reading.broken import Breaks
from tests.journeys.reading.climates import Climate
from tests.journeys.reading.habits import Habit
from tests.journeys.reading.plants import SIGNS, Batch, batch
from tests.journeys.reading.read import Ask, Read, Walk
from tests.journeys.year import Year

Happens = tuple[int, str, dict[str, Any]]
# From the middle of winter, in days: figs and currants are cut and part of them stuck, the rest forgotten in store.
SCENE: tuple[Happens, ...] = (
    (-20, "taken", {"lot": "1a", "variety": "1", "count": 20}),
    (-20, "taken", {"lot": "2a", "variety": "2", "count": 8}),
    (-14, "taken", {"lot": "3a", "variety": "3", "count": 5}),
    (18, "stuck", {"lot": "1a", "count": 12, "bin": "A", "refers": "1b"}),
    (18, "stuck", {"lot": "2a", "bin": "B"}),
    (34, "sold", {"lot": "1a", "count": 4, "stage": "store"}),
)
BEGINS, ENDS = -24, 330  # first and last day read, from the middle of winter
SECOND_SPRING = 220  # so many days more for whose plants stay
BUSY = timedelta(days=110)  # so long wood and bags are read each day that asks for something
ONCE = frozenset({"set_out", "outside", "brought_in", "planted", "resting"})
AGAIN = timedelta(days=20)


@dataclass
class Grower:
    """Who does what is asked for, as far as plants allow, and writes it down by habit."""

    habit: Habit
    year: Year
    midwinter: date
    happens: Sequence[Happens]
    batches: dict[str, Batch] = field(default_factory=dict)
    told: dict[tuple[str, str], int] = field(default_factory=dict)
    done: dict[tuple[str, str], date] = field(default_factory=dict)
    unwritten: list[tuple[date, str, str, dict[str, object]]] = field(default_factory=list)
    rounds: int = 0

    def write(self, day: date, what: str, lot: str = "", **more: object) -> None:
        """Note it in the pocket book; it reaches the logbook in the evening, or on Sunday."""
        self.done[lot or str(more.get("bin", "")), what] = day
        if self.habit.writes(what):
            self.unwritten.append((day, what, lot, more))

    def evening(self, day: date, nursery: Nursery) -> None:
        """Write up; what cannot have happened as written is left out, as the command would refuse it."""
        if self.habit.weekly and day.weekday() != 6 and day - min((d for d, *_ in self.unwritten), default=day) < AGAIN:
            return
        standing = replay_faults(nursery, self.year)
        for when, what, lot, more in self.unwritten:
            self.year.log(when, what, lot, **more)
            if replay_faults(nursery, self.year) > standing:
                self.year.rows.pop()
        self.unwritten.clear()

    def scene(self, read: Read) -> None:
        """What happens whatever the program says."""
        day = read.day
        for offset, what, more in self.happens:
            lot = more["lot"]
            if self.midwinter + timedelta(days=offset) == day:
                self.write(day, what, **more)
                if what == "stuck":
                    name, count = str(more.get("refers", lot)), more.get("count") or read.lot(lot).count("store")
                    crop = self.year.base.varieties[lot[:-1]].crop
                    self.batches[name] = batch(self.year.base.book.crops[crop], day, count)

    def act(self, read: Read) -> None:
        """Do what the day asks for."""
        day = read.day
        self.scene(read)
        goes = read.round is not None and self.rounds % self.habit.rounds == 0
        self.rounds += read.round is not None
        if goes and read.round:
            self.look(read, tuple(read.round.lots))
        for ask in read.asks:
            if ask.task and (goes if ask.told in ("job", "late") else self.is_time(ask, day)):
                self.do(ask, read)
            elif ask.look and goes and ask.look.rule.logged_as == "watered":
                self.water(ask, read)
        self.year_turns(read)

    def is_time(self, ask: Ask, day: date) -> bool:
        assert ask.task is not None
        return day >= min(ask.task.due + timedelta(days=self.habit.late), ask.task.latest)

    def look(self, read: Read, lots: tuple[str, ...]) -> None:
        """Look through what the round names, and note what shows, with how many."""
        for name in lots:
            self.write(read.day, "looked", name)
            grown = self.batches.get(name)
            if grown is None or not self.habit.signs or not read.lot(name).count("rooting"):
                continue
            for sign in SIGNS:
                showing = grown.showing(sign, read.day)
                if showing > self.told.get((name, sign), 0):
                    self.told[name, sign] = showing
                    self.write(read.day, sign, name, count=min(showing, read.lot(name).count("rooting")))
        if self.habit.troubles:
            self.troubles(read, lots)

    def troubles(self, read: Read, lots: tuple[str, ...]) -> None:
        """One mould in the first weeks, one wilting at the first step into the air, gnats when bags are open."""
        stuck = self.midwinter + timedelta(days=18)
        if "1b" in lots and ("1b", "mould") not in self.done and read.day >= stuck + timedelta(days=8):
            self.write(read.day, "mould", "1b")
        opened = self.done.get(("1b", "opened"))
        if "1b" in lots and opened and ("1b", "wilt") not in self.done and read.day > opened:
            self.write(read.day, "wilt", "1b")
        if "1b" in lots and ("A", "gnats") not in self.done and read.day >= stuck + timedelta(days=44):
            self.write(read.day, "gnats", bin="A", count=8)

    def do(self, ask: Ask, read: Read) -> None:
        """Do one thing for each lot that it names, as far as it is there to be done."""
        task, day = ask.task, read.day
        assert task is not None
        event = task.rule.logged_as
        if task.rule.scope == "bin":
            self.of_bin(ask, day)
            return
        if event in ("", "noted", "looked", "taken", "died", "temperature") or task.to_come:
            return
        for name in ask.lots:
            last = self.done.get((name, event))
            if last is None or day - last >= (AGAIN if event in ONCE else timedelta(days=1)):
                self.of_lot(event, name, task.rule.while_in or "", read, ask)

    def of_bin(self, ask: Ask, day: date) -> None:
        assert ask.task is not None
        command = how_to_log_task(ask.task).split()[2:]
        if (
            command
            and command[0] in ("lamp", "all_clear", "temperature")
            and self.done.get((ask.bin, command[0])) != day
        ):
            value = " ".join(command[command.index("--value") + 1 :]).strip('"') if "--value" in command else ""
            self.write(day, command[0], bin=ask.bin, value="25 C" if command[0] == "temperature" else value)

    def of_lot(self, event: str, name: str, stage: str, read: Read, ask: Ask) -> None:
        day, lot, grown = read.day, read.lot(name), self.batches.get(name)
        there = [each for each in EVENTS[event].takes_from if lot.count(each)]
        if event == "potted" and grown and grown.ready(day):
            count = min(grown.ready(day), lot.count("rooting"))
            grown.pot(count)
            self.write(day, event, name, count=count)
            self.told |= {(name, sign): grown.showing(sign, day) for sign in SIGNS}
        elif event == "watered":
            self.water(ask, read)
        elif event == "opened" and grown and (stage == "pot" or grown.drinking(day)):
            self.write(day, event, name, stage=stage)
        elif event == "discarded" and grown:
            lost = len(grown.bags) - grown.showing("roots", day)
            if lost:
                grown.lose(lost)
                self.write(day, event, name, count=lost, stage="rooting")
        elif event == "stuck" and ask.rule == "store_past" and lot.count("store"):
            self.write(day, "discarded", name, count=lot.count("store"), stage="store")
        elif event == "sold" and self.habit.sells and lot.count("outside") > 2:
            self.write(day, event, name, count=1, stage="outside")
        elif event == "planted" and self.habit.plants and lot.count("outside") > 1:
            self.write(day, event, name, count=lot.count("outside") // 2, stage="outside")
        elif event in ("set_out", "outside", "brought_in") and there:
            self.write(day, event, name, stage=there[0])
            if ask.rule == "pots_in":  # as it says: log resting too
                self.write(day, "resting", name)
        elif event in ("fed", "treated", "all_clear", "rebagged", "resting", "woke", "hardened"):
            self.write(day, event, name, **({"value": "larvicide (invented)"} if event == "treated" else {}))
        elif event == "moved" and lot.count("rooting"):
            self.write(day, event, name, bin="C")

    def water(self, ask: Ask, read: Read) -> None:
        """Water what is light: bags that drink, a fortnight after the last time."""
        for name in ask.lots:
            last, grown = self.done.get((name, "watered")), self.batches.get(name)
            drinks = bool(grown and grown.drinking(read.day)) or not read.lot(name).count("rooting")
            if drinks and (last is None or read.day - last >= timedelta(days=10)):
                self.write(read.day, "watered", name)

    def year_turns(self, read: Read) -> None:
        """A week of nights out hardens; what rests wakes about when the last frosts come.

        Pots that nobody was told to put out long after the last frost are put out all the same.
        """
        out = timedelta(days=8)
        for lot in read.open_lots:
            potted = lot.since("pot")
            if potted and not lot.resting and self.long_past(read, potted) and ("outside" not in lot.steps):
                what = "outside" if (lot.id, "set_out") in self.done else "set_out"
                if self.done.get((lot.id, "set_out"), date.min) < read.day - timedelta(days=14):
                    self.write(read.day, what, lot.id, stage="pot")
        for lot in read.open_lots:
            since = lot.since("outside")
            if self.habit.signs and since and read.day - since >= out and (lot.id, "hardened") not in self.done:
                self.write(read.day, "hardened", lot.id)
            if lot.resting and read.day >= _wakes(read, lot.signs["resting"].day) and self.habit.signs:
                self.write(read.day, "woke", lot.id)

    def long_past(self, read: Read, potted: date) -> bool:
        """Whether the last frosts are over for six weeks, and the first a good while off."""
        frost, accept = read.nursery.frost, read.nursery.settings.frost.accept
        safe, first = (
            min((day for day in days if day and day > potted), default=None)
            for days in (
                [frost.date_for_spring(accept, potted.year + more) for more in (0, 1)],
                [frost.date_for_autumn(accept, read.day.year + more) for more in (0, 1)],
            )
        )
        since = max(potted + timedelta(days=60), (safe or potted) + timedelta(days=42))
        return read.day >= since and (first is None or first - read.day > timedelta(days=45) or first < read.day)


def _wakes(read: Read, rested: date) -> date:
    """The day of half of the last frosts after it went to rest; where it never freezes, two months after."""
    days = [read.nursery.frost.date_for_spring(0.5, rested.year + more) for more in (0, 1)]
    return min((day for day in days if day and day > rested + timedelta(days=40)), default=rested + timedelta(days=60))


def replay_faults(nursery: Nursery, year: Year) -> int:
    return len(nursery.replayed(year.rows)[1])


def walk(
    base: Nursery,
    climate: Climate,
    habit: Habit,
    *,
    stride: int = 1,
    scene: Sequence[Happens] = SCENE,
    breaks: Breaks = lambda plan, _: plan,
    winter: int = 2026,
) -> Walk:
    """Read a season, from before the wood is cut to the second autumn, or the third.

    Args:
        base: the nursery without a row
        stride: once nothing is left in bags, days between two readings at the least
        scene: what happens whatever is asked for, in days from the middle of winter
        breaks: what is done to each plan before it is read, so that a sentence finds it
        winter: the year in which it begins
    """
    midwinter = climate.midwinter(winter)
    scene = [each for each in scene if each[2]["lot"][:-1] in base.varieties]
    grower, found = Grower(habit, Year(base), midwinter, scene), Walk(climate, habit, base)
    happens = [midwinter + timedelta(days=offset) for offset, _, _ in scene]
    day, last = (
        midwinter + timedelta(days=BEGINS),
        midwinter + timedelta(days=ENDS + (SECOND_SPRING if habit.years else 0) + 365 * max(habit.years - 1, 0)),
    )
    while day <= last:
        nursery, plan = grower.year.plan(day)
        plan = breaks(plan, nursery)
        entries = tuple(entries_of(plan, nursery))
        known = {name: each for name, each in grower.batches.items() if name in nursery.stock.lots}
        grown = {name: Batch(each.stuck, list(each.bags), list(each.pots)) for name, each in known.items()}
        read = Read(day, nursery, plan, entries, today_text(plan, nursery, 1), grown, tuple(grower.year.rows))
        found.reads.append(read)
        grower.year.publish(plan, nursery)
        grower.act(read)
        before = len(grower.year.rows)
        grower.evening(day, nursery)
        day = min(_next(read, stride, grower.year.rows[before:]), *(each for each in happens if each > day), date.max)
    return found


def _next(read: Read, stride: int, logged: Sequence[Row]) -> date:
    """The next day that asks for anything, a week off at most; the next morning where a trouble was seen."""
    plan, day = read.plan, read.day
    if any(EVENTS[row.what].kind == "trouble" or row.what == "stuck" for row in logged):
        return day + timedelta(days=1)
    young = any(day - grown.stuck < BUSY for grown in read.batches.values() if grown.bags)
    stored = any(lot.count("store") and day - lot.started < BUSY for lot in read.open_lots)
    first = day + timedelta(days=1 if young or stored else stride)
    windows = [task.due for task in plan.tasks if not task.in_round and task.rule.id != "carry"]  # as each day before
    asks = [each.day for each in plan.rounds] + windows
    return min((each for each in asks if each >= first), default=first + timedelta(days=7))
