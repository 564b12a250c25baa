"""The wood plan as tables: what to cut, what lies in store for what, the plants it comes from; and as JSON. Pure."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from almanac.actions.wood import WoodReading
from almanac.nursery.settings import Mother
from almanac.plan.wood.account import Wood
from almanac.plan.wood.cuts import Cut, Uses
from almanac.rulebook.fields import as_data
from almanac.terminal.encoded import Shape
from almanac.terminal.forsale import WOOD
from almanac.terminal.table import clipped, paragraph, table
from almanac.words.dates import day, winter
from almanac.words.season import past_range
from almanac.words.wood import cut_words, kept_words

_NOTHING = "–"
_HALF_YEAR = timedelta(days=183)


def wood_text(found: WoodReading) -> str:
    """What to cut first, then what lies in store, then the mother plants."""
    nursery, near = found.nursery, found.nursery.as_of
    lines = paragraph(f"{nursery.name}: wood of winter {winter(found.middle)}")
    if not found.cuts:
        return "\n".join([*lines, "", *paragraph("No variety is in varieties.csv: add one, then ask again.")]) + "\n"
    left = [each for each in found.cuts if each.left]
    lines += ["", "To cut"]
    rows = [(_name(each, found), *_when(each, found), _count(each)) for each in left]
    lines += table(rows, ("", "best", "by", "cuttings"), indent=2) or paragraph(_nothing_left(found), 2)
    stored = [
        (kept.wood.lot, str(kept.wood.count), f"cut {day(kept.wood.cut, near)}", kept_words(kept, near))
        for each in found.cuts
        for kept in each.kept
    ]
    stored += [
        (old.lot, str(old.count), f"cut {day(old.cut, near)}", past_range(old.until, near)) for old in found.older
    ]
    lines += ["", "In store", *(table(stored, indent=2) or paragraph("Nothing.", 2))]
    mothers = [_mother_row(mother, found) for mother in nursery.mothers]
    lines += ["", "Mother plants", *table(mothers, indent=2)] if mothers else []
    return "\n".join(lines) + "\n"


def _name(cut: Cut, found: WoodReading) -> str:
    return clipped(f"{cut.number} {found.nursery.varieties[cut.number].name}".strip(), 18)


def _when(cut: Cut, found: WoodReading) -> tuple[str, str]:
    near = found.nursery.as_of
    _, due, closes = cut.days
    return ("over", day(closes, near)) if closes < near else (day(max(due, near), near), day(closes, near))


def _count(cut: Cut) -> str:
    return "any number" if cut.count is None else cut_words(cut)


def _nothing_left(found: WoodReading) -> str:
    sick = [each.number for each in found.cuts if each.sick]
    return f"Nothing: the mother plants of {', '.join(sick)} are sick." if sick else "Nothing: all is there."


def _mother_row(mother: Mother, found: WoodReading) -> tuple[str, ...]:
    """Where it stands, how it is, how many were cut of it this winter."""
    cut = _cut_of(mother, found)
    how = ["sheltered"] if mother.sheltered else []
    how += [] if mother.health == "sound" else [f"{mother.health}: {_BARRED[mother.health]}"]
    how += [f"since {mother.since}"] if mother.since else []
    how += [f"{cut} cut this winter"] if cut else []
    return mother.variety, mother.place or _NOTHING, ", ".join([*how, *([mother.note] if mother.note else [])])


_BARRED = {"doubtful": "nothing of it for sale", "sick": "no wood of it"}


def _cut_of(mother: Mother, found: WoodReading) -> int:
    """How many cuttings of this winter were logged as cut from it."""
    lots = (kept for kept in found.nursery.stock.lots.values() if kept.number == mother.variety and not kept.parent)
    place, middle = mother.place.strip().lower(), found.middle
    of_it = [lot for lot in lots if place and lot.mother.lower() == place and abs(lot.cut_on - middle) < _HALF_YEAR]
    return sum(lot.total + sum(n for (what, _), n in lot.left.items() if what != "joined") for lot in of_it)


def wood_plan_json(found: WoodReading) -> dict[str, Any]:
    """The same as one object: of `varieties` what to `cut`, null where nobody says how many, and what is `in_store`."""
    return {
        "as_of": found.nursery.as_of,
        "season": str(found.middle.year),
        "varieties": _CUT(found.cuts),
        "older": [_LOT(old) | WOOD(old) for old in found.older],
        "mothers": [{**as_data(each), "cut": _cut_of(each, found)} for each in found.nursery.mothers],
    }


_LOT = Shape(Wood, "lot count")
_USES = Shape(Uses, "planned orders sale spare")
_CUT = Shape(
    Cut,
    "number crop cut for from had sick opens due closes in_store",
    **{"for": lambda cut: _USES(cut.uses)},
    cut=lambda cut: cut.count if cut.left else 0,
    **{"from": lambda cut: [{"place": mother.place, "count": count} for mother, count in cut.shares]},
    opens=lambda cut: cut.days[0],
    due=lambda cut: cut.days[1],
    closes=lambda cut: cut.days[2],
    in_store=lambda cut: [_LOT(kept.wood) | {"for": _USES(kept.uses)} | WOOD(kept.wood) for kept in cut.kept],
)
