"""From the text of `varieties.csv` to varieties by number. Pure."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from almanac.faults import Fact, Fault, nearest

COLUMNS = ("number", "name", "crop", "source", "protected", "price_cutting", "price_plant", "note")
FILE = "varieties.csv"
_YES, _NO = ("yes", "y", "true", "1", "x"), ("", "no", "n", "false", "0")


@dataclass(frozen=True)
class Variety:
    """A named clone; `protected` means under plant patent or breeders' rights."""

    number: str
    name: str
    crop: str
    protected: bool = False
    source: str = ""
    price_cutting: str = ""
    price_plant: str = ""
    note: str = ""


def read_table(
    text: str, file: str, columns: Collection[str], needed: Iterable[str]
) -> tuple[list[tuple[int, dict[str, str]]], list[Fault]]:
    """The rows of a CSV table with their line numbers; short rows, unknown and missing columns are faults."""
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff")), strict=True)
    faults: list[Fault] = []
    rows: list[tuple[int, dict[str, str]]] = []
    header: list[str] = []
    line = 1
    try:
        for cells in reader:
            first, line = line, reader.line_num + 1
            cells = [cell.strip() for cell in cells]
            if not any(cells):
                continue
            if not header:
                header = [cell.lower() for cell in cells]
                faults += _header_faults(header, file, first, columns, needed)
                if faults:
                    return [], faults
            elif len(cells) > len(header) and any(cells[len(header) :]):
                faults.append(Fault(file, Fact("too_many_cells", cells=len(cells), columns=len(header)), first))
            else:
                rows.append((first, dict(zip(header, cells + [""] * len(header), strict=False))))
    except csv.Error as error:
        faults.append(Fault(file, _unreadable(str(error)), line))
    if not header and not faults:
        faults.append(Fault(file, Fact("no_header", columns=tuple(columns)), 1))
    return rows, faults


def _unreadable(error: str) -> Fact:
    """What the CSV reader met; it tells its errors apart by their text alone."""
    if "new-line" in error:
        return Fact("other_line_ends")
    if "limit" in error:
        return Fact("endless_cell")
    return Fact("quote_open") if "end of data" in error else Fact("quote_in_quotes")


def _header_faults(
    header: list[str], file: str, line: int, columns: Collection[str], needed: Iterable[str]
) -> list[Fault]:
    if len(header) == 1 and (";" in header[0] or "\t" in header[0]):
        return [Fault(file, Fact("no_commas"), line)]
    unknown = [name for name in header if name and name not in columns]
    found = [Fact("not_a_column", column=name, near=nearest(name, columns)) for name in unknown]
    found += [Fact("column_twice", column=name) for name in columns if header.count(name) > 1]
    missing = [name for name in needed if name not in header]
    if missing:
        found.append(Fact("no_column", column=missing[0], columns=tuple(columns)))
    return [Fault(file, fact, line) for fact in found]


def read_varieties(text: str, crops: Collection[str], file: str = FILE) -> tuple[dict[str, Variety], list[Fault]]:
    """Every variety by its number, and every fault with its line."""
    rows, faults = read_table(text, file, COLUMNS, ("number", "name", "crop"))
    found: dict[str, Variety] = {}
    for line, row in rows:
        number, crop, protected = row["number"], row["crop"].lower(), row.get("protected", "").lower()
        if not re.fullmatch(r"0*[1-9][0-9]{0,5}", number):
            faults.append(Fault(file, Fact("number_unreadable", given=number), line))
        elif str(int(number)) in found:
            fact = Fact("number_taken", number=int(number), name=found[str(int(number))].name)
            faults.append(Fault(file, fact, line))
        elif crop not in crops:
            faults.append(Fault(file, Fact("no_rule_file", crop=row["crop"], near=nearest(crop, crops)), line))
        elif protected not in _YES + _NO:
            faults.append(Fault(file, Fact("neither_yes_nor_no", given=row["protected"]), line))
        else:
            number = str(int(number))
            found[number] = Variety(
                number,
                row["name"],
                crop,
                protected in _YES,
                *(row.get(name, "") for name in ("source", "price_cutting", "price_plant", "note")),
            )
    return found, faults
