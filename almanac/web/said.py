"""What was logged and what moved by it, as the page confirms it, and kept so that a repeat is told the same."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import replace

from almanac.actions.row_ids import at_once, rows_of_entry
from almanac.actions.undo import Undoing
from almanac.actions.writing import Recorded
from almanac.nursery.events import Stage
from almanac.nursery.logbook import Row, not_voided, undone_by
from almanac.nursery.lots import Lot
from almanac.nursery.nursery import Nursery
from almanac.plain import dataclass
from almanac.plan.model import Plan
from almanac.web.choices import label
from almanac.words.dates import weekday
from almanac.words.faults import page_text
from almanac.words.for_sale import CANCEL_ON_PAGE, order_now, too_few
from almanac.words.lots import label_first, named, stage_words
from almanac.words.moved import titles_of, told
from almanac.words.sentences import small, so_many

_KEPT = 500
_SHOWN = 8  # rows logged since
_TOLD = 6  # lots of which it is said how many are left


@dataclass(frozen=True, kw_only=True)
class LoggedOnce:
    """Rows that were logged at once, as one line of history; `id` undoes them all, at once if they came `last`.

    `undone_by` is the row to undo for them to count again.
    """

    id: str
    text: str
    note: str
    undone_by: str = ""
    last: bool = False

    @property
    def undone(self) -> bool:
        return bool(self.undone_by)


@dataclass(frozen=True, kw_only=True)
class Said:
    """One confirmation: what was logged, what else is to be known, what moved; `except_for` are lots left out of it.

    `counted` says that something counts again by it, `last` that nothing was logged since; `undone_by` is the row to
    undo for what is undone to count again.
    """

    id: str
    text: str
    more: tuple[str, ...] = ()
    moved: tuple[str, ...] = ()
    undone: bool = False
    except_for: tuple[str, ...] = ()
    counted: bool = False
    last: bool = False
    undone_by: str = ""


class Memory:
    """The confirmations of this run, the latest of them."""

    def __init__(self) -> None:
        self._kept: OrderedDict[str, tuple[Recorded, tuple[str, ...]]] = OrderedDict()
        self._lock = threading.Lock()

    def keep(self, name: str, recorded: Recorded, but: tuple[str, ...] = ()) -> None:
        """Keep what was said of an entry, if nothing was yet."""
        with self._lock:
            if name not in self._kept and not recorded.again:
                self._kept[name] = (recorded, but)
            while len(self._kept) > _KEPT:
                self._kept.popitem(last=False)

    def told(self, name: str, nursery: Nursery, plan: Plan | None) -> Said | None:
        """What is said of an entry; of one that an earlier run logged without what moved."""
        with self._lock:
            kept = self._kept.get(name)
        if kept:
            return _said(name, kept[0], kept[1], nursery, plan)
        rows = rows_of_entry(nursery.every_row, name) or [row for row in nursery.every_row if row.id == name]
        if not rows:
            return None
        return _with_standing(Said(id=name, text=what_happened(rows, nursery)), rows, nursery)


def what_happened(rows: Sequence[Row], nursery: Nursery) -> str:
    """`Roots: 7a, 3, Tue 24 Feb`, for one row or many alike."""
    first = rows[0]
    if first.what == "void":
        again, meant = _voided(rows, nursery)
        word = "Counts again" if again else "Undone"
        return f"{word}: {what_happened(meant, nursery)}" if meant else word
    alike = [row for row in rows if row.what == first.what]
    about = named([_about(row, nursery) for row in alike], 8)
    parts = [about, *([str(first.count)] if first.count is not None else [])]
    value = first.value.replace("_", " ") if first.event.value_kind == "words" else first.value
    parts += [value] if value and first.value != about else []
    parts += [f"from {first.stage}"] if first.stage and first.event.takes_from else []
    parts += [f"into {small(nursery.settings.called(first.bin))}"] if first.bin and first.lot else []
    return f"{label(first.what)}: {', '.join(parts)}, {weekday(first.day, nursery.as_of)}"


@dataclass(frozen=True, kw_only=True)
class Asking:
    """What is asked before an entry is undone that is not the last; those `resting` on it with their ids."""

    id: str
    text: str
    note: str
    resting: tuple[tuple[str, str], ...]
    later: tuple[str, ...]


def asking(what: Undoing, nursery: Nursery) -> Asking:
    """An undoing in words."""
    return Asking(
        id=what.rows[0].id,
        text=what_happened(what.rows, nursery),
        note=what.rows[0].note,
        resting=tuple((row.id, what_happened([row], nursery)) for row in what.resting),
        later=tuple(what_happened([row], nursery) for row in what.later[-_SHOWN:]),
    )


def entries(nursery: Nursery, most: int) -> list[LoggedOnce]:
    """The last things logged that still count, the latest first."""
    found: list[list[Row]] = []
    for row in sorted(not_voided(nursery.every_row), key=lambda row: -row.line):
        if found and at_once(found[-1][0], row):
            found[-1].insert(0, row)
        elif len(found) == most:
            break
        else:
            found.append([row])
    return [
        LoggedOnce(id=rows[0].id, text=what_happened(rows, nursery), note=rows[0].note, last=place == 0)
        for place, rows in enumerate(found)
    ]


def history(lot_id: str, nursery: Nursery) -> list[LoggedOnce]:
    """All that was logged of a lot, the latest first, undone rows too."""
    lot = nursery.stock.lots[lot_id]
    undone, last = undone_by(nursery.every_row), {row.id for row in _last(nursery)}

    def concerns(row: Row) -> bool:
        if lot_id in (row.lot, row.refers):
            return True
        if not row.bin or row.lot:
            return False
        stood = [name for since, name in lot.places if since <= row.day]
        return bool(stood) and stood[-1].lower() == row.bin.lower()

    rows = [row for row in nursery.every_row if row.what != "void" and concerns(row)]
    rows.sort(key=lambda row: (row.day, row.line), reverse=True)
    return [
        LoggedOnce(
            id=row.id,
            text=what_happened([row], nursery),
            note=row.note,
            undone_by=undone.get(row.id, ""),
            last=row.id in last,
        )
        for row in rows
    ]


def _about(row: Row, nursery: Nursery) -> str:
    place = small(nursery.settings.called(row.bin)) if row.bin else ""
    return row.lot or place or (f"number {row.variety}" if row.variety else row.value)


def _last(nursery: Nursery) -> list[Row]:
    """The rows that were logged last of those that count."""
    left = not_voided(nursery.every_row)
    last = max(left, key=lambda row: row.line, default=None)
    return [row for row in left if last is not None and at_once(row, last)]


def _voided(voids: Sequence[Row], nursery: Nursery) -> tuple[bool, list[Row]]:
    """What rows that undo, or undo an undoing, are about in the end, and whether that counts as it stands."""
    rows, by_id = list(voids), {row.id: row for row in nursery.every_row}
    while rows and rows[0].what == "void":
        rows = [by_id[row.refers] for row in rows if row.refers in by_id]
    return bool(rows) and rows[0].id not in undone_by(nursery.every_row), rows


def _with_standing(said: Said, rows: Sequence[Row], nursery: Nursery) -> Said:
    """A confirmation with whether what it says still counts, and how that is changed."""
    first, by = rows[0], undone_by(nursery.every_row)
    last = {row.id for row in _last(nursery)} >= {row.id for row in rows}
    if first.what != "void":
        return replace(said, undone=first.id in by, undone_by=by.get(first.id, ""), last=last)
    again, about = _voided(rows, nursery)
    return replace(said, undone=not again, counted=again, undone_by=by.get(about[0].id, "") if about else "")


def _said(name: str, recorded: Recorded, but: tuple[str, ...], nursery: Nursery, plan: Plan | None) -> Said:
    as_of = recorded.as_of
    still = recorded.rows[0].id not in undone_by(nursery.every_row)
    more = _left(recorded.rows, nursery) if still else []
    more += [f"This makes lot {lot}." for lot in recorded.made]
    more += filter(None, [label_first(recorded.rows, recorded.made)])
    for seat in (each.seat for each in recorded.placed):
        more.append(f"Into {small(nursery.settings.called(seat.bin))}; {seat.free} of {seat.places} places left.")
    more += [order_now(order, as_of) for order in recorded.orders]
    more += [f"{too_few(offer, CANCEL_ON_PAGE)}." for offer in recorded.short]
    more += [f"{page_text(fact)}." for fact in recorded.frost]
    more += ["The last line of the logbook was cut short; it was set aside."] if recorded.set_aside else []
    more += [f"The calendar was not refreshed: {page_text(recorded.stale)}."] if recorded.stale else []
    moved = tuple(_moves(recorded)) if plan else ()
    text = what_happened(recorded.rows, nursery)
    said = Said(id=name, text=text, more=tuple(more), moved=moved, except_for=but)
    return _with_standing(said, recorded.rows, nursery)


def _left(rows: Sequence[Row], nursery: Nursery) -> list[str]:
    """Of a few lots that cuttings went out of their stage, how many, and how many are left there."""
    gone = [row for row in rows if row.lot in nursery.stock.lots and row.event.kind == "step" and row.event.takes_from]
    lines = []
    for row in gone[:_TOLD]:
        lot, event = nursery.stock.lots[row.lot], row.event
        if event.to in event.takes_from or row.what == "counted":
            continue  # they stay in their stage
        stages = [stage for stage in event.takes_from if stage != event.to and row.stage in ("", stage)]
        left = sum(lot.count(stage) for stage in stages)
        there = [stage for stage in stages if lot.count(stage)] or (stages if len(stages) == 1 else [])
        where = f" {_where(lot, there[0])}" if len(there) == 1 else ""
        count = "All" if row.count is None else row.count
        lines.append(f"{count} {label(row.what).lower()} of {lot.id}, {left or 'none'} left{where}.")
    return lines


def _where(lot: Lot, stage: Stage) -> str:
    """`in A` of what roots in a bin, else where cuttings of that stage are."""
    return f"in {lot.places[-1][1]}" if lot.places and stage == "rooting" else stage_words(stage)


def _moves(recorded: Recorded) -> list[str]:
    """What moved in the calendar, a line each, the next steps of its lots first; nothing where nothing did."""
    lots = {row.lot for row in (*recorded.rows, *recorded.undone)} | {*recorded.made}
    found = told(recorded.changes, titles_of(recorded.changes), recorded.as_of, lots)
    lines = [f"{each.what}: {each.when}" for each in found.moved]
    lines += [f"{so_many(found.later, 'later date')}, {found.far}"] if found.later else []
    for word, some, more in (("New", found.added, found.more), ("No longer asked for", found.removed, found.fewer)):
        lines += [f"{word}: {', '.join(filter(None, (each.what, each.when)))}" for each in some]
        lines += [f"{word}: {more} more"] if more else []
    return lines
