"""Whatever a grower sells, promises, moves and takes back: no cutting is lost or doubled, nothing is promised twice.

Random sequences of the real commands on real files; only what they do not hang on (rules read anew, the plan, the
calendar) is left out. STICKDATE_FUZZ says how many sequences are tried (70 if not said: some seconds); a sequence
follows from its number alone, so that a failure can be repeated.
"""

from __future__ import annotations

import csv
import os
import random
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from unittest.mock import patch

import pytest

from almanac.actions import orders, record, writing
from almanac.actions.orders import OrderWanted
from almanac.actions.request import Request
from almanac.actions.undo import undo
from almanac.faults import Refusal
from almanac.nursery import load
from almanac.nursery.events import EVENTS, STAGES
from almanac.nursery.load import load_nursery
from almanac.nursery.lots import Lot
from almanac.nursery.nursery import Nursery
from almanac.nursery.turns import Turn
from almanac.plan.changes import Changes
from almanac.rulebook.load import load_rules
from tests.nurseries import bench

SEQUENCES = int(os.environ.get("STICKDATE_FUZZ", "70"))
STEPS = 24
START = datetime(2027, 1, 4, 17, tzinfo=UTC)
# How often each is tried.
COMMANDS = {
    "taken": 2,
    "plants": 1,
    "stuck": 2,
    "potted": 3,
    "outside": 2,
    "brought_in": 2,
    "moved": 2,
    "stored": 1,
    "hardened": 3,
    "pushing": 0.4,
    "mould": 1,
    "all_clear": 1,
    "treated": 0.4,
    "planned": 1,
    "counted": 1,
    "died": 2,
    "gave": 1,
    "kept": 1,
    "sold": 3,
    "sold for": 3,
    "order": 8,
    "ship": 8,
    "cancel": 2,
    "undo": 3,
    "undo row": 3,
}
CHOSEN = ("sold", "gave", "kept", "stuck", "order")  # what the program may refuse, as somebody decides it
LEAVING = ("sold", "gave", "planted", "kept", "died", "discarded")
VARIETIES = "number,name,crop,source,protected\n7,Copper Kettle,fig,,\n8,Blue Ladder,fig,,\n"


@pytest.fixture(scope="module", autouse=True)
def _only_what_counts_hang_on() -> Iterator[None]:
    """Rules are read once; nothing is planned and no calendar written."""
    once: dict[str, object] = {}

    def kept(name: str, ask: Callable[..., object]) -> Callable[..., object]:
        return lambda *about: once[name] if name in once else once.setdefault(name, ask(*about))

    with (
        patch("almanac.nursery.load.load_rules", kept("rules", load_rules)),
        patch("almanac.nursery.load._settings", kept("settings", load._settings)),
        patch.object(writing, "settle_calendar", planned_from_what_the_files_say),
        patch.object(orders, "settle_calendar", planned_from_what_the_files_say),
        patch("os.fsync", lambda _: None),
    ):
        yield


def planned_from_what_the_files_say(after: Nursery, _: Nursery, now: datetime, turn: Turn) -> tuple[Changes, None]:
    """The calendar is brought up to what was worked out in memory: that must be what a fresh reading gives."""
    read = load_nursery(after.folder, now, after.as_of)
    assert after.stock == read.stock
    assert after.orders == read.orders
    for mine, theirs in ((after.rows, read.rows), (after.every_row, read.every_row)):
        assert [replace(row, line=0) for row in mine] == [replace(row, line=0) for row in theirs]
    return Changes(moved=(), added=(), removed=()), None


class Season:
    """One random sequence, with a ledger of its own to hold the program's against."""

    def __init__(self, folder: Path, number: int) -> None:
        self.folder, self.draw, self.now = folder, random.Random(number), START
        bench(folder, "", START.date(), bins="AB", bags=500, varieties=VARIETIES)
        self.story: list[str] = []
        self.log("taken", "7", count=30)
        self.log("received", "7", count=20, stage="outside")
        self.log("taken", "8", count=12)
        self.log("hardened", "7b")
        self.seen = self.nursery

    @property
    def nursery(self) -> Nursery:
        return load_nursery(self.folder, self.now)

    def step(self) -> None:
        """One command, or a day that passes; what must hold is looked at after it."""
        self.now += timedelta(minutes=1) if self.draw.random() < 0.8 else timedelta(days=self.draw.choice((1, 3, 8)))
        before = self.seen if self.seen.today == self.now.astimezone(self.seen.place.zone).date() else self.nursery
        files = self.files()
        what = self.draw.choices(list(COMMANDS), list(COMMANDS.values()))[0]
        try:
            self.command(what, before)
        except Refusal as why:
            self.story.append(f"{self.now:%m-%d %H:%M} refused: {what}: {why.fact}")
            self.wrote_nothing(files)
            return
        self.story.append(f"{self.now:%m-%d %H:%M} {what}")
        self.seen = self.nursery
        self.must_hold(what, before, self.seen)

    def wrote_nothing(self, files: dict[str, bytes]) -> None:
        assert self.files() == files, "what was refused was written all the same"

    def command(self, what: str, nursery: Nursery) -> None:
        draw, number = self.draw, self.draw.choice("78")
        order = draw.choice([each for each in nursery.orders.values() if each.open] or [*nursery.orders.values(), None])
        event = {"plants": "received", "sold for": "sold"}.get(what, what)
        lot, stage, count = self.some(event, nursery, order.number if what == "sold for" and order else "")
        name = order.id if order else "1"
        if what in ("order", "ship", "cancel"):
            self.order(what, number, name, lot)
        elif what == "undo":
            undo(self.folder, self.now)
        elif what == "undo row":
            undo(self.folder, self.now, draw.choice(nursery.every_row[-12:]).id)
        elif what in ("taken", "plants"):
            self.log(event, number, count=draw.randint(1, 15), stage="outside" if what == "plants" else "")
        elif what == "planned":
            self.log(what, number, count=count, value=(self.now + timedelta(days=20)).date().isoformat())
        elif what == "counted":
            self.log(what, lot, count=count, stage=stage, value="looked again")
        elif EVENTS[event].kind == "step":
            self.log(event, lot, count=count, stage=stage, refers=name if what == "sold for" else "")
        else:
            bin_name = draw.choice("AB") if what == "moved" else ""
            self.log(event, lot, bin=bin_name, count=count if what == "hardened" and draw.random() < 0.5 else None)

    def some(self, event: str, nursery: Nursery, number: str) -> tuple[str, str, int]:
        """A lot, a stage and a count, most often such as the event can be about."""
        draw, takes_from = self.draw, EVENTS[event].takes_from if event in EVENTS else ()
        takes_from = ("rooting",) if event == "moved" else takes_from
        fits = [
            (lot.id, stage, lot.count(stage))
            for lot in nursery.stock.lots.values()
            for stage in takes_from or STAGES
            if lot.count(stage) and number in ("", lot.number)
        ]
        lot, stage, there = draw.choice(fits) if fits else ("7a", "store", 3)
        count = draw.randint(1, min(there, 9))
        return (lot, stage, count) if draw.random() < 0.9 else (lot, draw.choice(STAGES), draw.randint(1, 30))

    def order(self, what: str, number: str, order: str, lot: str) -> None:
        draw = self.draw
        if what == "order":
            form = draw.choice(("dormant", "rooted"))
            later = form == "rooted" and draw.random() < 0.15
            by = (self.now + timedelta(days=draw.randint(30, 250))).date().isoformat() if later else ""
            wanted = OrderWanted(number=number, form=form, count=draw.randint(1, 9), ship_by=by)
            orders.place(self.folder, self.now, wanted)
        elif what == "cancel":
            orders.cancel(self.folder, self.now, order)
        else:
            lots = (lot,) if draw.random() < 0.2 else ()
            orders.ship(self.folder, self.now, order, lots, draw.randint(1, 4) if draw.random() < 0.4 else None)

    def log(self, what: str, about: str, **more: object) -> None:
        record.record(self.folder, self.now, Request(what=what, about=(about,), **more))  # type: ignore[arg-type]  # one command's

    def files(self) -> dict[str, bytes]:
        return {path.name: path.read_bytes() for path in self.folder.glob("*.csv")}

    # --- what must hold ---

    def must_hold(self, what: str, before: Nursery, after: Nursery) -> None:
        cuttings_are_in_one_place(self.folder, after)
        orders_add_up(self.folder, after)
        assert not after.notices, after.notices
        for number in "78":
            for form in ("dormant", "rooted"):
                was, now = promised(before, number, form), promised(after, number, form)
                sound = to_send(after, number, form)
                ahead = promised_ahead(after, number) if form == "rooted" else 0
                if what == "order" and now > was:
                    assert now - ahead <= sound, f"{now} of {number} {form} promised and {sound} to send"
                    assert now <= sound + on_their_way(after, number), f"{now} of {number} promised, not so many come"
                if what in CHOSEN and now > sound and not (what == "order" and ahead):
                    missing = was - to_send(before, number, form)
                    assert now - sound <= max(missing, 0), f"{what} took what was promised of {number} {form}"


def cuttings_are_in_one_place(folder: Path, nursery: Nursery) -> None:
    """Of all that ever came, each is in a stage or left by an event: counted from the rows by themselves."""
    rows = counting(folder)
    came = sum(int(row["count"]) for row in rows if row["what"] in ("taken", "received"))
    left = Counter[str]()
    for row in rows:
        if row["what"] in LEAVING:
            left[row["what"]] += int(row["count"])
    lots = nursery.stock.lots.values()
    told = Counter[str]()
    for lot in lots:
        told.update({event: count for event, count in lot.gone.items() if event in LEAVING})
    stocktaken = sum(lot.gone.get("counted", 0) for lot in lots)
    assert told == left
    assert came == sum(lot.total for lot in lots) + sum(left.values()) + stocktaken
    assert all(0 <= lot.hardened <= lot.count("pot") + lot.count("outside") for lot in lots)


def orders_add_up(folder: Path, nursery: Nursery) -> None:
    """Each order is open, shipped or cancelled, once; both files say the same of what was shipped."""
    sold, noted = Counter[str](), Counter[str]()
    for row in counting(folder):
        if row["what"] == "sold" and row["refers"]:
            sold[row["refers"]] += int(row["count"])
    for row in table(folder / "orders.csv"):
        if row["done"][:1].isdigit() or row["done"] == "reopened":
            noted[row["order"]] += int(row["count"]) if row["done"] != "reopened" else -int(row["count"])
    assert +sold == +noted
    for order in nursery.orders.values():
        assert order.shipped == sold[order.id]
        assert order.open + order.shipped + order.cancelled == order.count
        assert order.open >= 0


def counting(folder: Path) -> list[dict[str, str]]:
    """The rows that count: what undoes another row does so unless it is undone itself."""
    rows = table(folder / "logbook.csv")
    by = {
        row["id"]: [void["id"] for void in rows if void["what"] == "void" and void["refers"] == row["id"]]
        for row in rows
    }

    def counts(name: str) -> bool:
        return not any(counts(void) for void in by[name])

    return [row for row in rows if row["what"] != "void" and counts(row["id"])]


def table(path: Path) -> list[dict[str, str]]:
    if not path.is_file():
        return []
    with path.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def promised(nursery: Nursery, number: str, form: str) -> int:
    return sum(order.open for order in nursery.orders.values() if (order.number, order.form) == (number, form))


def promised_ahead(nursery: Nursery, number: str) -> int:
    """How many are promised for later days."""
    orders = (order for order in nursery.orders.values() if (order.number, order.form) == (number, "rooted"))
    return sum(order.open for order in orders if order.ship_by and order.ship_by > nursery.as_of)


def on_their_way(nursery: Nursery, number: str) -> int:
    """How many plants are not ready yet, and those held back, whatever becomes of them."""
    lots = [lot for lot in nursery.stock.lots.values() if lot.number == number]
    held = sum(lot.hardened for lot in lots if held_back(lot, nursery.as_of))
    return held + sum(lot.total - lot.count("store") - lot.hardened for lot in lots)


def to_send(nursery: Nursery, number: str, form: str) -> int:
    """How many could be sent, reckoned from the lots by themselves."""
    lots = [lot for lot in nursery.stock.lots.values() if lot.number == number and not held_back(lot, nursery.as_of)]
    if form == "rooted":
        return sum(lot.hardened for lot in lots)
    return sum(
        cohort.count
        for lot in lots
        for cohort in lot.cohorts
        if cohort.stage == "store" and not cohort.reached and "pushing" not in lot.signs
    )


def held_back(lot: Lot, as_of: date) -> bool:
    treated = lot.jobs.get("treated", ())
    return bool(lot.troubles) or bool(treated and as_of < treated[-1] + timedelta(days=7))


def test_whatever_is_sold_promised_moved_and_undone_no_count_is_lost_or_doubled(tmp_path: Path) -> None:
    done = Counter[str]()
    for number in range(SEQUENCES):
        for path in tmp_path.glob("*.csv"):
            path.unlink()
        season = Season(tmp_path, number)
        try:
            for _ in range(STEPS):
                season.step()
        except AssertionError as error:
            raise AssertionError(f"sequence {number}: {error}\n" + "\n".join(season.story)) from error
        done.update(line[12:] for line in season.story if "refused" not in line)

    rare = [what for what in COMMANDS if done[what] < SEQUENCES / 10]
    assert not rare, f"hardly tried: {rare} of {done}"
