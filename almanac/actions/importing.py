"""Rows typed elsewhere, or a table that a spreadsheet saved over, into the nursery: first proposed, then written.

All or nothing: every fault of the file is told with its line, and until there is none nothing is written. What is there
already is not written again, so the same file may come twice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import assert_never

from almanac.actions.mend import replaced
from almanac.actions.standing import today_there
from almanac.actions.writing import locked, settle_calendar, stamp, write, write_rows
from almanac.disk import write_whole
from almanac.faults import Fact, Fault, InputFaults, Refusal
from almanac.nursery.foreign import COLUMNS, DateOrder, Understood, understand
from almanac.nursery.load import SETTINGS, copy_of, load_nursery
from almanac.nursery.logbook import TABLE as LOGBOOK
from almanac.nursery.logbook import Row, read_rows
from almanac.nursery.nursery import Nursery
from almanac.nursery.order_rows import TABLE as SALES
from almanac.nursery.order_rows import OrderRow, read_orders
from almanac.nursery.tables import Cells, as_lines, header_of, next_numbers, read_table
from almanac.nursery.varieties import FILE as VARIETIES
from almanac.nursery.varieties import read_varieties
from almanac.plain import dataclass

_TARGETS = {"logbook": LOGBOOK.name, "varieties": VARIETIES, "orders": SALES.name}
_FAR = 1_000_000  # lines of the file read, apart from those of the nursery's own


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """What a file says and what would be written.

    `own` says that the file is the nursery's own table, to be written anew as it should be; `fresh` are the rows to
    write, with their lines; `known` how many are there already.
    """

    target: str
    understood: Understood
    fresh: tuple[tuple[int, Cells], ...]
    known: int = 0
    own: bool = False


@dataclass(frozen=True, kw_only=True)
class Imported:
    """What was written: ids of rows or numbers, what was kept of what was replaced, why the calendar is stale."""

    proposal: Proposal
    names: tuple[str, ...]
    kept: tuple[str, ...] = ()
    stale: Fact | None = None


def propose(folder: Path, file: Path, now: datetime, wished: DateOrder | None = None) -> Proposal:
    """What importing a file would do. Writes nothing.

    Raises:
        InputFaults: the file, or the nursery's other files, are at fault
        Refusal: it is no nursery's folder, or nothing in the file tells day and month apart
    """
    return _proposal(folder, file, now, wished)[0]


def import_file(folder: Path, file: Path, now: datetime, wished: DateOrder | None = None) -> Imported:
    """Write it; raises as `propose`, and MachineTrouble or OSError where it cannot be written."""
    with locked(folder, now, None) as turn:
        proposal, nursery = _proposal(folder, file, now, wished)
        if proposal.own:
            text = _text(proposal.understood.kind, [cells for _, cells in proposal.fresh])
            kept = replaced(folder / proposal.target, text.encode("utf-8"), now)
            return Imported(proposal=proposal, names=tuple(c[0] for _, c in proposal.fresh), kept=tuple(kept))
        assert nursery is not None  # read for every file that is not the nursery's own
        cells = [each for _, each in proposal.fresh]
        names = tuple(each[0] for each in cells)
        if not cells:
            return Imported(proposal=proposal, names=())
        match proposal.understood.kind:
            case "logbook":
                moment = stamp(nursery, now)
                rows = [replace(row, logged_at=row.logged_at or moment, line=0) for row in _rows(cells)[0]]
                return Imported(proposal=proposal, names=names, stale=write_rows(nursery, rows, now, turn).stale)
            case "orders":
                told = _orders(nursery, cells)[0]
                write(nursery, [(SALES, told)])
                return Imported(
                    proposal=proposal,
                    names=names,
                    stale=settle_calendar(nursery.with_orders(told), nursery, now, turn)[1],
                )
            case "varieties":
                path = folder / VARIETIES
                old = path.read_text(encoding="utf-8-sig")
                lines = as_lines(header_of(old), COLUMNS["varieties"], cells)
                _keep_all(header_of(old), cells)
                write_whole(path.resolve(), (old + ("" if old.endswith("\n") else "\n") + lines).encode("utf-8"))
                return Imported(proposal=proposal, names=names)
            case _:
                assert_never(proposal.understood.kind)


def _keep_all(header: Sequence[str], cells: Sequence[Cells]) -> None:
    """Refuse to drop what a column that the file lacks would hold."""
    for number, name in enumerate(COLUMNS["varieties"]):
        if name not in header and any(each[number] for each in cells):
            raise Refusal(Fact("column_lacking", file=VARIETIES, column=name))


def _proposal(folder: Path, file: Path, now: datetime, wished: DateOrder | None) -> tuple[Proposal, Nursery | None]:
    if not (folder / SETTINGS).is_file():
        raise Refusal(Fact("no_nursery", folder=str(folder), settings=SETTINGS))
    if not file.is_file():
        raise Refusal(Fact("no_file", file=str(file)))
    copied = _copied(folder)
    days = {name: date.fromisoformat(row["date"]) for name, row in copied.items()}
    found, faults = understand(file.read_bytes(), file.name, today_there(folder, now), wished, days)
    if found is None or faults:
        raise InputFaults(faults)
    if found.doubt is not None:
        raise Refusal(Fact("dates_in_doubt", file=file.name, line=found.doubt[0], cell=found.doubt[1]))
    target = _TARGETS[found.kind]
    if (folder / target).exists() and file.resolve() == (folder / target).resolve():
        return _of_own(found, target, file.name, copied), None
    nursery = load_nursery(folder, now)
    proposal, wrong = _of_others(nursery, found, file.name)
    if wrong:
        raise InputFaults(wrong)
    return proposal, nursery


def _copied(folder: Path) -> dict[str, dict[str, str]]:
    """The rows of the logbook's copy by their id."""
    rows, _ = read_table(copy_of(folder, LOGBOOK), LOGBOOK.backup, LOGBOOK.columns, ())
    return {
        row["id"]: row for _, row in rows if row.get("id") and not read_rows(_text("logbook", [tuple(row.values())]))[1]
    }


def _of_own(found: Understood, target: str, file: str, copied: dict[str, dict[str, str]]) -> Proposal:
    """The nursery's own table as it should stand; the moments that a spreadsheet spoilt are those of the copy."""
    rows = []
    for line, cells in found.rows:
        row = found.named(cells)
        was = copied.get(row.get("id", ""), {})
        if found.kind == "logbook" and not row["logged_at"] and was.get("what") == row["what"]:
            row["logged_at"] = was.get("logged_at", "")
        rows.append((line, tuple(row.values())))
    # Whether crops and numbers are known the nursery says when it is read.
    faults = _rows([cells for _, cells in rows])[1] if found.kind == "logbook" else []
    lines = [line for line, _ in rows]
    if faults:
        raise InputFaults(replace(each, file=file, line=lines[(each.line or 2) - 2]) for each in faults)
    return Proposal(target=target, understood=found, fresh=tuple(rows), own=True)


def _of_others(nursery: Nursery, found: Understood, file: str) -> tuple[Proposal, list[Fault]]:
    """The rows that are not there yet, named, and all that is wrong with them."""
    there = [_cells_of(each) for each in _standing(nursery, found.kind)]
    left, fresh = list(there), []
    for line, cells in found.rows:
        match = next((each for each in left if _says_the_same(found, cells, each)), None)
        if match is not None:
            left.remove(match)
        else:
            fresh.append((line, cells))
    named = list(_named(nursery, found, fresh))
    proposal = Proposal(
        target=_TARGETS[found.kind], understood=found, fresh=tuple(named), known=len(found.rows) - len(fresh)
    )
    lines = [line for line, _ in named]
    cells_only = [cells for _, cells in named]
    match found.kind:
        case "logbook":
            rows, faults = _rows(cells_only)
            faults = [replace(each, line=lines[(each.line or 2) - 2]) for each in faults]
            if not faults:
                faults = list(_impossible(nursery, [replace(row, line=lines[row.line - 2]) for row in rows]))
        case "orders":
            faults = _orders(nursery, cells_only)[1]
            faults = [replace(each, line=lines[(each.line or 2) - 2]) for each in faults]
        case "varieties":
            faults = list(_variety_faults(nursery, cells_only, lines))
        case _:
            assert_never(found.kind)
    return proposal, [replace(each, file=file) for each in faults]


def _standing(nursery: Nursery, kind: str) -> Sequence[object]:
    if kind == "logbook":
        return nursery.every_row
    return nursery.order_rows if kind == "orders" else list(nursery.varieties.values())


def _cells_of(each: object) -> Cells:
    if isinstance(each, Row | OrderRow):
        return each.cells()
    return tuple(_as_cell(getattr(each, name)) for name in COLUMNS["varieties"])


def _as_cell(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else ""
    return "" if value is None else str(value)


def _says_the_same(found: Understood, cells: Cells, there: Cells) -> bool:
    """Whether a row is there: what it says stands there, too, whatever the program added to it."""
    if found.kind == "varieties":
        return [each.lower().lstrip("0") for each in cells[:3]] == [each.lower() for each in there[:3]]
    own = ("id", "logged_at", "order")
    pairs = zip(COLUMNS[found.kind], cells, there, strict=True)
    return all(not new or name in own or new.lower() == old.lower() for name, new, old in pairs)


def _named(nursery: Nursery, found: Understood, fresh: Sequence[tuple[int, Cells]]) -> Iterator[tuple[int, Cells]]:
    """Rows under names of their own: kept where they are free, else the next."""
    if found.kind == "varieties":
        yield from fresh
        return
    if found.kind == "logbook":
        used = {row.id for row in (*nursery.every_row, *nursery.lost_rows)}
        prefix = "r"
    else:
        used, prefix = {row.order for row in nursery.order_rows}, ""
    new: dict[str, str] = {}
    taken = set(used)
    for line, cells in fresh:
        name = cells[0]
        free = bool(name) and name not in taken and (found.kind == "orders" or name[:1].isalpha())
        own = name if free or (found.kind == "orders" and name in new) else next_numbers(prefix, taken, 1)[0]
        taken.add(own)
        new.setdefault(name, own)
        row = found.named((own, *cells[1:]))
        if row.get("what", "").lower() == "void":
            row["refers"] = new.get(row["refers"], row["refers"])
        yield line, tuple(row.values())


def _text(kind: str, cells: Sequence[Cells]) -> str:
    columns = next(known for name, known in COLUMNS.items() if name == kind)
    return as_lines(columns, columns, [columns, *cells])


def _rows(cells: Sequence[Cells]) -> tuple[list[Row], list[Fault]]:
    return read_rows(_text("logbook", cells))


def _impossible(nursery: Nursery, rows: Sequence[Row]) -> Iterator[Fault]:
    """What cannot have happened, of the rows to come alone."""
    today = nursery.today
    for row in rows:
        if row.day > today:
            yield Fault(file="", fact=Fact("row_to_come", day=row.day, today=today), line=row.line)
    before = set(nursery.replayed(nursery.every_row)[1])
    far = [replace(row, line=row.line + _FAR) for row in rows]
    for fault in nursery.on(today).with_rows([*nursery.every_row, *far])[1]:
        if fault not in before:
            line = fault.line or 0
            yield replace(fault, line=line - _FAR if line > _FAR else None)


def _orders(nursery: Nursery, cells: Sequence[Cells]) -> tuple[list[OrderRow], list[Fault]]:
    """New rows of orders and their faults, beside those there are; lines are of the new rows alone."""
    there = [row.cells() for row in nursery.order_rows]
    rows, faults = read_orders(_text("orders", [*there, *cells]), nursery.varieties)
    mine = [replace(each, line=(each.line or 0) - len(there)) for each in faults if (each.line or 0) > len(there) + 1]
    return [replace(row, line=0) for row in rows[len(there) :]], mine


def _variety_faults(nursery: Nursery, cells: Sequence[Cells], lines: Sequence[int]) -> Iterator[Fault]:
    there = [_cells_of(each) for each in nursery.varieties.values()]
    for fault in read_varieties(_text("varieties", [*there, *cells]), nursery.book.crops)[1]:
        at = (fault.line or 0) - len(there) - 2
        if at >= 0:
            yield replace(fault, line=lines[at])
