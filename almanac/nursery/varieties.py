"""From the text of `varieties.csv` to varieties by number. Pure."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from almanac.faults import Fault, clipped, suggestion

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
                text = f"has {len(cells)} cells where the header names {len(header)}; put text with commas in quotes"
                faults.append(Fault(file, text, first))
            else:
                rows.append((first, dict(zip(header, cells + [""] * len(header), strict=False))))
    except csv.Error as error:
        faults.append(Fault(file, _unreadable(str(error)), line))
    if not header and not faults:
        faults.append(Fault(file, f"is empty; its first line must be: {','.join(columns)}", 1))
    return rows, faults


def _unreadable(error: str) -> str:
    """What the CSV reader met, in words for who saves from a spreadsheet."""
    if "new-line" in error:
        return "has line ends of another kind in this row; save the file anew as CSV UTF-8"
    if "limit" in error:
        return "has a cell without end; look for a quote that is opened and never closed"
    if "end of data" in error:
        return "a quote is opened here and never closed; close it, or take it away"
    return 'a quote stands inside quoted text here; write it twice (""), or take it away'


def _header_faults(
    header: list[str], file: str, line: int, columns: Collection[str], needed: Iterable[str]
) -> list[Fault]:
    if len(header) == 1 and (";" in header[0] or "\t" in header[0]):
        text = "its columns are not parted by commas; save it from the spreadsheet as CSV with commas"
        return [Fault(file, text, line)]
    found = [
        Fault(file, f"'{clipped(name)}' is not a column{suggestion(name, columns)}", line)
        for name in header
        if name and name not in columns
    ]
    found += [
        Fault(file, f"column '{name}' is given twice; rename one, or take it away", line)
        for name in columns
        if header.count(name) > 1
    ]
    missing = [name for name in needed if name not in header]
    if missing:
        found.append(Fault(file, f"has no column '{missing[0]}'; the first line must be: {','.join(columns)}", line))
    return found


def read_varieties(text: str, crops: Collection[str], file: str = FILE) -> tuple[dict[str, Variety], list[Fault]]:
    """Every variety by its number, and every fault with its line."""
    rows, faults = read_table(text, file, COLUMNS, ("number", "name", "crop"))
    found: dict[str, Variety] = {}
    if any("column" in fault.text for fault in faults):
        return found, faults
    for line, row in rows:
        number, crop, protected = row["number"], row["crop"].lower(), row.get("protected", "").lower()
        if not re.fullmatch(r"0*[1-9][0-9]{0,5}", number):
            text = f"number '{clipped(number)}' is not a whole number from 1 to 999999; give the variety one"
            faults.append(Fault(file, text, line))
        elif str(int(number)) in found:
            text = f"number {int(number)} is already '{clipped(found[str(int(number))].name)}'; give this one another"
            faults.append(Fault(file, text, line))
        elif crop not in crops:
            text = f"'{clipped(row['crop'])}' is not a crop with a rule file{suggestion(crop, crops)}"
            faults.append(Fault(file, text, line))
        elif protected not in _YES + _NO:
            text = f"protected '{clipped(row['protected'])}' is neither yes nor no; write one, or leave it blank"
            faults.append(Fault(file, text, line))
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
