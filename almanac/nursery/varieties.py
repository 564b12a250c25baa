"""From the text of `varieties.csv` to varieties by number. Pure."""

from __future__ import annotations

import re
from collections.abc import Collection

from almanac.faults import Fact, Fault, nearest
from almanac.nursery.tables import read_table
from almanac.plain import dataclass

COLUMNS = ("number", "name", "crop", "source", "protected", "price_cutting", "price_plant", "note", "wanted", "licence")
FILE = "varieties.csv"
# A sum, with or without a sign or code of its money: 4.50, $4.50, 4,50 EUR.
_PRICE = re.compile(r"(?:[^\d\s.,-]{1,3} ?)?\d{1,6}(?:[.,]\d{1,2})?(?: ?[^\d\s.,-]{1,3})?")
_YES, _NO = ("yes", "y", "true", "1", "x"), ("", "no", "n", "false", "0")


@dataclass(frozen=True, kw_only=True)
class Variety:
    """A named clone; `protected` means under plant patent or breeders' rights, with no `licence` named for it.

    `wanted` is how many cuttings of it are wanted in a winter, all told; None where nobody says.
    """

    number: str
    name: str
    crop: str
    protected: bool = False
    source: str = ""
    price_cutting: str = ""
    price_plant: str = ""
    note: str = ""
    wanted: int | None = None
    licence: str = ""


def read_varieties(text: str, crops: Collection[str], file: str = FILE) -> tuple[dict[str, Variety], list[Fault]]:
    """Every variety by its number, and every fault with its line."""
    rows, faults = read_table(text, file, COLUMNS, ("number", "name", "crop"))
    found: dict[str, Variety] = {}
    for line, row in rows:
        number, crop, protected = row["number"], row["crop"].lower(), row.get("protected", "").lower()
        wanted = row.get("wanted", "")
        if not re.fullmatch(r"0*[1-9][0-9]{0,5}", number):
            faults.append(Fault(file=file, fact=Fact("number_unreadable", given=number), line=line))
        elif str(int(number)) in found:
            fact = Fact("number_taken", number=int(number), name=found[str(int(number))].name)
            faults.append(Fault(file=file, fact=fact, line=line))
        elif crop not in crops:
            faults.append(
                Fault(file=file, fact=Fact("no_rule_file", crop=row["crop"], near=nearest(crop, crops)), line=line)
            )
        elif protected not in _YES + _NO:
            faults.append(Fault(file=file, fact=Fact("neither_yes_nor_no", given=row["protected"]), line=line))
        elif not re.fullmatch(r"[0-9]{0,5}", wanted):
            faults.append(Fault(file=file, fact=Fact("wanted_unreadable", given=wanted), line=line))
        elif wrong := next((name for name in ("price_cutting", "price_plant") if not _is_price(row.get(name, ""))), ""):
            faults.append(Fault(file=file, fact=Fact("price_unreadable", column=wrong, given=row[wrong]), line=line))
        else:
            number = str(int(number))
            source, price_cutting, price_plant, note = (
                row.get(name, "") for name in ("source", "price_cutting", "price_plant", "note")
            )
            found[number] = Variety(
                number=number,
                name=row["name"],
                crop=crop,
                protected=protected in _YES and not row.get("licence", ""),
                source=source,
                price_cutting=price_cutting,
                price_plant=price_plant,
                note=note,
                wanted=int(wanted) if wanted else None,
                licence=row.get("licence", ""),
            )
    return found, faults


def _is_price(text: str) -> bool:
    return not text or _PRICE.fullmatch(text) is not None
