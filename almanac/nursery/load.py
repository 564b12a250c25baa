"""From a nursery's folder to the nursery and all its faults. Reads files; never writes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

from filelock import FileLock
from pydantic import ValidationError

from almanac.faults import Fact, Fault, InputFaults, Refusal, clipped, nearest
from almanac.nursery.events import EVENTS
from almanac.nursery.frost_source import FrostSourceError, nights_of
from almanac.nursery.in_hand import in_hand
from almanac.nursery.logbook import BACKUP, FILE, TORN, Row, read_rows, torn_tail
from almanac.nursery.lots import Stock
from almanac.nursery.nursery import Nursery
from almanac.nursery.order_rows import BACKUP as ORDERS_BACKUP
from almanac.nursery.order_rows import FILE as ORDERS
from almanac.nursery.order_rows import read_orders
from almanac.nursery.orders_told import order_notices, orders_to_come
from almanac.nursery.settings import Settings
from almanac.nursery.varieties import FILE as VARIETIES
from almanac.nursery.varieties import read_varieties
from almanac.rulebook.book import Rulebook
from almanac.rulebook.fields import Loc, faults_of, line_of, read_toml, too_large
from almanac.rulebook.load import load_rules
from almanac.site.nights import Nights

SETTINGS = "nursery.toml"


def lock(folder: Path) -> FileLock:
    """The one lock of a nursery, held from load to append, and from load to publish."""
    return FileLock(str(folder / ".stickdate.lock"), timeout=30, fallback_to_soft=False)


def load_nursery(folder: Path, now: datetime, as_of: date | None = None) -> Nursery:
    """Read a nursery.

    Args:
        folder: its folder
        now: the real time, aware; today is this moment's date in the nursery's own time zone
        as_of: the day to stand for today; later rows are not seen
    Raises:
        InputFaults: with every fault in every file
        Refusal: it is not a nursery's folder
    """
    if not (folder / SETTINGS).is_file():
        raise Refusal(Fact("no_nursery", folder=str(folder), settings=SETTINGS))
    faults: list[Fault] = []
    book, rule_faults = load_rules(folder / "rules", EVENTS)
    faults += rule_faults
    site = _settings(folder, book, faults)
    names = (VARIETIES, FILE, BACKUP, ORDERS, ORDERS_BACKUP)
    table, log, copy, sales, sales_copy = (_text(folder / name, name, faults) for name in names)
    varieties, variety_faults = read_varieties(table, book.crops) if book and table is not None else ({}, [])
    every_row, row_faults = read_rows(log) if log else ([], [])
    faults += variety_faults + row_faults
    backup = every_row if copy == log else read_rows(copy, BACKUP)[0] if copy else []
    known = bool(varieties) and not variety_faults  # else each order's variety would look like a fault of its own
    order_rows, order_faults = read_orders(sales or "", varieties) if known else ([], [])
    faults += order_faults
    if site is None or book is None:
        raise InputFaults(faults)
    settings, nights = site
    unreadable = bool(faults)
    today = now.astimezone(settings.place().zone).date()
    faults += [
        Fault(FILE, Fact("row_to_come", day=row.day, today=today), row.line) for row in every_row if row.day > today
    ]
    faults += orders_to_come(order_rows, today)
    nursery = Nursery(
        folder=folder,
        settings=settings,
        place=settings.place(),
        nights=nights,
        book=book,
        varieties=varieties,
        rows=(),
        every_row=tuple(every_row),
        backup=tuple(backup),
        stock=Stock({}, {}, {}),
        as_of=as_of or today,
        today=today,
        order_rows=tuple(order_rows),
        order_backup=tuple(read_orders(sales_copy or "", varieties, ORDERS_BACKUP)[0]),
    )
    nursery, impossible = nursery.with_rows(every_row)
    if faults or impossible:
        raise InputFaults(faults + (impossible if not unreadable else []))  # those would only follow from the others
    return replace(
        nursery,
        notices=(
            *_notices(nursery, log or ""),
            *order_notices(
                nursery.order_rows, nursery.order_backup, nursery.orders.values(), nursery.rows, varieties, sales or ""
            ),
        ),
    )


def _text(path: Path, name: str, faults: list[Fault]) -> str | None:
    """A table's text, empty where there may be none; None where it cannot be read."""
    if not path.is_file():
        if name != VARIETIES:
            return ""
        faults.append(Fault(name, Fact("varieties_missing")))
        return None
    data = path.read_bytes()
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        loosely = data.decode("utf-8-sig", "replace")
        if error.start > data.rfind(b"\n") and torn_tail(loosely):
            return loosely  # a write cut short within a letter: a torn line like any other
        line = data[: error.start].count(b"\n") + 1
        faults.append(Fault(name, Fact("table_not_utf8"), line))
        return None


def _settings(folder: Path, book: Rulebook | None, faults: list[Fault]) -> tuple[Settings, Nights] | None:
    written, document, found = read_toml((folder / SETTINGS).read_bytes(), SETTINGS)
    if document is None:
        faults += found
        return None

    def line(loc: Loc) -> int | None:
        return line_of(written, loc)

    try:
        settings = Settings.model_validate(document)
    except ValidationError as error:
        faults += faults_of(error, Settings, SETTINGS, written, document)
        return None
    found = too_large(SETTINGS, document, line)
    nights = None
    try:
        nights = nights_of(settings, folder)
    except FrostSourceError as error:
        where = line(("frost", error.key)), f"frost, {error.key}"
        found += [Fault(SETTINGS, fact, *where) for fact in error.facts]
    method = settings.nursery.method
    if book and method not in book.methods:
        fact = Fact("no_method", method=method, near=nearest(method, book.methods))
        found.append(Fault(SETTINGS, fact, line(("nursery", "method")), "nursery, method"))
    if book:
        _, wrong = in_hand(settings.supplies, book.supplies.supply)
        found += [
            Fault(SETTINGS, fact, line(("supplies", name)), f"supplies, {clipped(name)}")
            for name, fact in wrong.items()
        ]
    faults += found
    return (settings, nights) if nights and not found else None


def _notices(nursery: Nursery, text: str) -> Iterator[Fault]:
    tail = torn_tail(text)
    if tail:
        yield Fault(FILE, Fact("torn_row", text=tail, aside=TORN), text.count("\n") + 1)
    missing = missing_from_logbook(nursery)
    if missing:
        ids = tuple(row.id for row in missing[:8])
        yield Fault(FILE, Fact("rows_missing", count=len(missing), backup=BACKUP, rows=ids))


def missing_from_logbook(nursery: Nursery) -> list[Row]:
    """Rows the program wrote that the logbook no longer holds, as when a spreadsheet saved over them."""
    there = {row.id for row in nursery.every_row}
    return [replace(row, line=0) for row in nursery.backup if row.id not in there]
