"""From a nursery's folder to the nursery and all its faults. Reads files; never writes."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

from almanac.faults import Fact, Fault, InputFaults, Miswritten, Refusal, clipped, nearest
from almanac.nursery.copies import Difference, difference
from almanac.nursery.events import EVENTS
from almanac.nursery.frost_source import FrostSourceError, nights_of
from almanac.nursery.in_hand import in_hand
from almanac.nursery.logbook import FILE, Row, read_rows
from almanac.nursery.logbook import TABLE as LOGBOOK
from almanac.nursery.lots import Stock
from almanac.nursery.nursery import Nursery
from almanac.nursery.order_rows import FILE as ORDERS
from almanac.nursery.order_rows import TABLE as SALES
from almanac.nursery.order_rows import read_orders
from almanac.nursery.orders_told import order_notices, orders_to_come
from almanac.nursery.rewritten import folded
from almanac.nursery.settings import Settings
from almanac.nursery.tables import Table, torn_tail
from almanac.nursery.turns import Turn
from almanac.nursery.varieties import FILE as VARIETIES
from almanac.nursery.varieties import read_varieties
from almanac.rulebook import kept_tables
from almanac.rulebook.book import Rulebook
from almanac.rulebook.load import load_rules
from almanac.rulebook.stand_in import stand_in
from almanac.rulebook.toml_text import Loc, line_of, read_toml, too_large
from almanac.site.nights import Nights

LineOf = Callable[[Loc], int | None]  # the line of a key
SETTINGS = "nursery.toml"
WRITTEN = Path("calendar", "everything.ics")


def lock(folder: Path, patience_s: float | None = None) -> Turn:
    """The one lock of a nursery, held from load to append, and from load to publish."""
    return Turn(folder, patience_s)


def load_nursery(folder: Path, now: datetime, as_of: date | None = None, *, whatever_rules: bool = False) -> Nursery:
    """Read a nursery.

    Args:
        folder: its folder
        now: the real time, aware; today is this moment's date in the nursery's own time zone
        as_of: the day to stand for today; later rows are not seen
        whatever_rules: to log by, not to plan by: faults in the nursery's own rules are told by its `rules_wrong`
    Raises:
        InputFaults: with every fault in every file
        Refusal: it is not a nursery's folder
    """
    nursery, faults = read_nursery(folder, now, as_of, whatever_rules=whatever_rules)
    if faults or nursery is None:
        raise InputFaults(faults)
    return nursery


def read_nursery(
    folder: Path, now: datetime, as_of: date | None = None, *, whatever_rules: bool = False
) -> tuple[Nursery | None, list[Fault]]:
    """The same with its faults beside it; None where settings, rules or varieties cannot be used.

    Raises:
        Refusal: it is not a nursery's folder
    """
    if not (folder / SETTINGS).is_file():
        raise Refusal(Fact("no_nursery", folder=str(folder), settings=SETTINGS))
    faults: list[Fault] = []
    book, rules_wrong = _rules(folder, faults, whatever=whatever_rules)
    table, log, sales = (text_of(folder / name, faults) for name in (VARIETIES, FILE, ORDERS))
    varieties, variety_faults = read_varieties(table, book.crops) if book and table is not None else ({}, [])
    grown = varieties if book and table is not None and not variety_faults else None
    site = _settings(folder, None if rules_wrong else book, grown, faults)
    every_row, row_faults = read_rows(log) if log else ([], [])
    faults += variety_faults + folded(row_faults, FILE)
    known = bool(grown)  # else each order's variety would look like a fault of its own
    order_rows, order_faults = read_orders(sales or "", varieties) if known else ([], [])
    faults += folded(order_faults, ORDERS)
    if site is None or book is None:
        return None, faults
    settings, nights = site
    unreadable = bool(faults)
    today = now.astimezone(settings.place().zone).date()
    faults += [*_rows_to_come(every_row, today), *orders_to_come(order_rows, today)]
    apart = _apart(folder, {LOGBOOK: log, SALES: sales}, today)
    missing = (*_gone(folder), *_missing(apart.values()))
    nursery = Nursery(
        folder=folder,
        settings=settings,
        place=settings.place(),
        nights=nights,
        book=book,
        varieties=varieties,
        rows=(),
        every_row=tuple(every_row),
        stock=Stock(lots={}, bins={}, crop_signs={}),
        as_of=as_of or today,
        today=today,
        order_rows=tuple(order_rows),
        apart=apart,
        missing=missing,
        rules_wrong=rules_wrong,
    )
    nursery, impossible = nursery.with_rows(every_row)
    if not unreadable:  # else those would only follow from the others
        faults += impossible
    if faults:
        return nursery if known else None, faults + [each for each in missing if not unreadable]
    told = order_notices(nursery.orders.values(), nursery.order_rows, nursery.rows, varieties)
    return replace(nursery, notices=(*_torn(LOGBOOK, log or ""), *_torn(SALES, sales or ""), *missing, *told)), []


def _rules(folder: Path, faults: list[Fault], *, whatever: bool) -> tuple[Rulebook | None, tuple[Fault, ...]]:
    """The rules in force; or, where `whatever` stands in for own rules at fault, those and what is wrong with them."""
    book, found = load_rules(folder / "rules", EVENTS)
    stands_in = stand_in(folder / "rules", EVENTS) if found and whatever else None
    if stands_in:
        return stands_in, tuple(found)
    faults += found
    return book, ()


def _rows_to_come(rows: Iterable[Row], today: date) -> Iterator[Fault]:
    for row in rows:
        if row.day > today:
            yield Fault(file=FILE, fact=Fact("row_to_come", day=row.day, today=today), line=row.line)


def _apart(folder: Path, texts: Mapping[Table, str | None], today: date) -> dict[str, Difference]:
    """How far each table that can be read is from its copy."""
    return {
        table.name: difference(table, text, copy_of(folder, table)).until(today)
        for table, text in texts.items()
        if text is not None
    }


def text_of(path: Path, faults: list[Fault]) -> str | None:
    """A table's text, empty where there may be none; None where it cannot be read."""
    name = path.name
    if not path.is_file():
        if name != VARIETIES:
            return ""
        faults.append(Fault(file=name, fact=Fact("varieties_missing")))
        return None
    data = path.read_bytes()
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        loosely = data.decode("utf-8-sig", "replace")
        if error.start > data.rfind(b"\n") and torn_tail(loosely):
            return loosely  # a write cut short within a letter: a torn line like any other
        line = data[: error.start].count(b"\n") + 1
        faults.append(Fault(file=name, fact=Fact("table_not_utf8", file=name), line=line))
        return None


def copy_of(folder: Path, table: Table) -> str:
    """The text of a table's copy, as much of it as can be read: what is wrong with it must stop nobody."""
    path = folder / table.backup
    return path.read_bytes().decode("utf-8-sig", "replace") if path.is_file() else ""


def _torn(table: Table, text: str) -> Iterator[Fault]:
    tail = table.cut_short(text)
    if tail:
        told = Fact("torn_row", text=tail, aside=table.torn)
        if not table.stamped:
            told = Fact("torn_order", text=tail, aside=table.torn)
        yield Fault(file=table.name, fact=told, line=text.count("\n") + 1)


def _gone(folder: Path) -> Iterator[Fault]:
    """A logbook that is away with its copy, though a calendar was written from one."""
    if not any((folder / name).exists() for name in (FILE, LOGBOOK.backup)) and (folder / WRITTEN).exists():
        yield Fault(file=FILE, fact=Fact("logbook_gone", backup=LOGBOOK.backup))


def _missing(apart: Iterable[Difference]) -> Iterator[Fault]:
    """Rows the program wrote that a table no longer holds, as when a spreadsheet saved over them."""
    for each in apart:
        table, rows = each.table, tuple(dict.fromkeys(cells[0] for _, cells in each.lost[:8]))
        told = Fact("rows_missing", count=len(each.lost), backup=table.backup, rows=rows)
        if not table.stamped:
            told = Fact("order_rows_missing", count=len(each.lost), backup=table.backup, rows=rows)
        if rows:
            yield Fault(file=table.name, fact=told)


def _settings(
    folder: Path, book: Rulebook | None, varieties: Collection[str] | None, faults: list[Fault]
) -> tuple[Settings, Nights] | None:
    data = (folder / SETTINGS).read_bytes()
    place = kept_tables.place_of(SETTINGS, [(SETTINGS, data)])
    before = _still_sound(kept_tables.found(place, Settings))
    settings, found = (before, []) if before else _checked(data)
    if settings is None:
        faults += found
        return None

    def line(loc: Loc) -> int | None:
        return line_of(data.decode("utf-8-sig"), loc)

    nights, wrong = _nights(settings, folder, line)
    found += wrong
    if book:
        found += [*_method_unknown(settings, book, line), *_supplies_wrong(settings, book, line)]
    if varieties is not None:
        found += _mothers_of_none(settings, varieties, line)
    faults += found
    if book and before is None and not found:
        kept_tables.keep(place, settings)
    return (settings, nights) if nights and not found else None


def _checked(data: bytes) -> tuple[Settings | None, list[Fault]]:
    """Settings as written, and what is wrong with them in themselves."""
    from almanac.rulebook.checked import checked, faults_of  # it costs start-up time, and most files were seen before

    written, document, found = read_toml(data, SETTINGS)
    if document is None:
        return None, found
    settings, slips = checked(Settings, document)
    if settings is None:
        return None, faults_of(slips, SETTINGS, written, document)
    return settings, too_large(SETTINGS, document, lambda loc: line_of(written, loc))


def _still_sound(settings: Settings | None) -> Settings | None:
    """Settings that were kept, if what the machine knows of time zones and holidays bears them out as it did."""
    try:
        if settings is not None:
            settings.check()
            _ = settings.place().zone
    except (Miswritten, ValueError, LookupError, OSError):
        return None
    return settings


def _nights(settings: Settings, folder: Path, line: LineOf) -> tuple[Nights | None, list[Fault]]:
    try:
        return nights_of(settings, folder), []
    except FrostSourceError as error:
        at, key = line(("frost", error.key)), f"frost, {error.key}"
        return None, [Fault(file=SETTINGS, fact=fact, line=at, key=key) for fact in error.facts]


def _method_unknown(settings: Settings, book: Rulebook, line: LineOf) -> Iterator[Fault]:
    method = settings.nursery.method
    if method not in book.methods:
        fact = Fact("no_method", method=method, near=nearest(method, book.methods))
        yield Fault(file=SETTINGS, fact=fact, line=line(("nursery", "method")), key="nursery, method")


def _supplies_wrong(settings: Settings, book: Rulebook, line: LineOf) -> Iterator[Fault]:
    _, wrong = in_hand(settings.supplies, book.supplies.supply)
    for name, fact in wrong.items():
        yield Fault(file=SETTINGS, fact=fact, line=line(("supplies", name)), key=f"supplies, {clipped(name)}")


def _mothers_of_none(settings: Settings, varieties: Collection[str], line: LineOf) -> Iterator[Fault]:
    """Mother plants of numbers that varieties.csv does not hold."""
    for place, mother in enumerate(settings.mother):
        if mother.variety not in varieties:
            fact = Fact("mother_of_none", number=mother.variety, near=nearest(mother.variety, varieties))
            at = line(("mother", place, "variety"))
            yield Fault(file=SETTINGS, fact=fact, line=at, key=f"mother {place + 1}, variety")
