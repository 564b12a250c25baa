"""The buying list for a person, in pieces and by volume, and as JSON. Pure."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import timedelta
from math import ceil
from typing import Any

from almanac.nursery.nursery import Nursery
from almanac.plan.room.supplies import BuyingList, Need
from almanac.rulebook.models import Bag
from almanac.rulebook.programmes.potting import Potting
from almanac.rulebook.supplies import MixShare, shares
from almanac.terminal.encoded import Shape
from almanac.terminal.space import PLANNED
from almanac.terminal.table import paragraph, paragraphs, table
from almanac.units import System, in_unit, quantity
from almanac.words.dates import day, weekday
from almanac.words.lots import named
from almanac.words.sentences import listed

_ML_BELOW = 0.1  # litres under which a volume is told in millilitres, or fluid ounces
_JUST = 1e-6  # of a rounding up, for sums that are whole but for rounding
_A_WHILE = timedelta(days=14)  # from today to the day of the example


def supplies_text(found: BuyingList, nursery: Nursery) -> str:
    """What, how much, in hand, to buy, order by; then what to take care of, and how it was counted."""
    system = nursery.units
    lines = paragraph(f"{nursery.name}: to buy from {weekday(found.as_of)} {found.as_of.year} on")
    if not found.needs:
        lines += paragraph("Nothing is planned to be stuck and nothing roots in bags, so nothing is used up.")
        return "\n".join([*lines, *paragraph(_how_to_plan(found)), *_not_counted(found)]) + "\n"
    lines += [*paragraph(_for_what(found)), ""]
    lines += _pieces([need for need in found.needs if need.rule.measure == "count"], found)
    lines += _volumes([need for need in found.needs if need.rule.measure == "volume"], found, system)
    if any(need.up_to > need.expected for need in found.needs):
        lines += paragraph("In brackets: with that much, nine times in ten there is enough.")
    lines += _reserves(found, nursery)
    lines += [] if found.planned else paragraph(f"Nothing is planned to be stuck. {_how_to_plan(found)}")
    lines += [*_not_counted(found), *_take_care(found, nursery)]
    lines += ["", "How it is counted", *paragraphs(_sums(found, nursery), 2)]
    return "\n".join(lines) + "\n"


def _how_to_plan(found: BuyingList) -> str:
    return (
        "Plan what you will stick, and it is counted: stickdate log planned 7 --count 20 --value "
        f"{found.as_of + _A_WHILE}; or let the program say when and how many: stickdate stick-by."
    )


def _for_what(found: BuyingList) -> str:
    parts = []
    if found.planned:
        first = max(min(planned.day for planned in found.planned), found.as_of)
        parts.append(f"{found.to_stick} to stick from {weekday(first, found.as_of)}")
    if found.potted_from:
        up_to = f" ({found.pots_up_to})" if found.pots_up_to > found.pots else ""
        parts.append(
            f"about {found.pots}{up_to} to pot up, from {weekday(found.potted_from, found.as_of)} at the soonest"
        )
    return f"For {listed(parts) or 'what stands in bins and pots'}."


def _pieces(needs: Sequence[Need], found: BuyingList) -> list[str]:
    rows = [
        (
            need.rule.title,
            _both(need.expected, need.up_to, _whole),
            _whole(need.in_hand),
            _both(need.to_buy, need.to_buy_up_to, _whole),
            _order(need, found),
        )
        for need in needs
    ]
    return [*table(rows, ("pieces", "need", "in hand", "to buy", "order by")), ""] if rows else []


def _volumes(needs: Sequence[Need], found: BuyingList, system: System) -> list[str]:
    units = ("cu ft", "gal") if system == "us" else ("cu ft",)
    rows = []
    for need in needs:
        other = [
            _rounded_up(in_unit(need.to_buy, "volume", unit)) if need.to_buy >= _ML_BELOW else "-" for unit in units
        ]
        row = [need.rule.title, _both(need.expected, need.up_to, _litres), _litres(need.in_hand)]
        if need.reserve:
            row[0] += " *"
        rows.append([*row, _both(need.to_buy, need.to_buy_up_to, _litres), *other, _order(need, found)])
    head = ["litres", "need", "in hand", "to buy", *(f"= {unit}" for unit in units), "order by"]
    return [*table(rows, head), ""] if rows else []


def _both(expected: float, up_to: float, told: Callable[[float], str]) -> str:
    """`38 (46)`"""
    return told(expected) if told(up_to) == told(expected) else f"{told(expected)} ({told(up_to)})"


def _whole(number: float) -> str:
    return str(ceil(number - _JUST))


def _rounded_up(number: float) -> str:
    """To the tenth below ten, to the hundredth below one, else whole; never less than it is."""
    digits = 2 if number < 1 else 1 if number < 10 else 0
    return f"{ceil(number * 10**digits - _JUST) / 10**digits:g}"


def _litres(litres: float) -> str:
    return f"{ceil(litres * 1000 - _JUST)} ml" if 0 < litres < _ML_BELOW else _rounded_up(litres)


def _order(need: Need, found: BuyingList) -> str:
    """`22 Dec, for 12 Jan`; a season is short of a year, so no year is told."""
    if need.to_buy_up_to <= 0:
        return "enough"
    order = "now" if need.order_by <= found.as_of else day(need.order_by)
    return f"{order}, for {day(need.needed_by)}" if need.needed_by > found.as_of else order


def _not_counted(found: BuyingList) -> list[str]:
    lines = []
    if found.in_store:
        count = sum(count for _, count in found.in_store)
        lots = named([lot.id for lot, _ in found.in_store], 4)
        bags = f"{count} bags, {_litres(count * found.bag.mix_l)} l of bag mix and " if found.bag else ""
        lines += paragraph(
            f"Not counted: {count} in store ({lots}) that nobody plans to stick. To stick them too takes {bags}about "
            f"{found.pots_of_store} pots more."
        )
    if found.to_stick > found.in_bags + found.in_cells:
        in_soil = found.to_stick - found.in_bags - found.in_cells
        lines += paragraph(f"No mix is counted for {in_soil} that root in no bag and in no cell.")
    if found.unforeseen:
        lines += paragraph(f"Not counted: pots for {named(found.unforeseen, 4)}, whose potting nobody can date.")
    return lines


def cautions_of(found: BuyingList) -> list[str]:
    """The cautions of all that is to be bought, in the order of the list."""
    bought = [need for need in found.needs if need.to_buy_up_to > 0]
    return list(dict.fromkeys(name for need in bought for name in need.rule.cautions))


def _take_care(found: BuyingList, nursery: Nursery) -> list[str]:
    names = cautions_of(found)
    if not names:
        return []
    texts = [*(nursery.book.cautions[name].short for name in names), nursery.book.closing]
    return ["", "Take care", *paragraphs(texts, 2)]


def _sums(found: BuyingList, nursery: Nursery) -> list[str]:
    system, rules = nursery.units, nursery.book.supplies
    texts = []
    if found.bag and found.in_bags:
        bag = found.bag
        width, fill = (quantity(value, "length", system) for value in (bag.width, bag.fill))
        texts.append(
            f"Bag: {width} wide lying flat and filled {fill}, width x width / 3.14 x fill = {bag.volume_l:.3f} l; with "
            f"{bag.settling:.0%} for settling {_in_both(bag.mix_l, system)}. {found.in_bags} x {bag.mix_l:.2f} l = "
            f"{found.bag_mix_l:.1f} l: {_parts(rules.mix.bag, nursery)}."
        )
    if found.cell and found.in_cells:
        cell = found.cell
        texts.append(
            f"Cell: {_in_both(cell.volume, system)}; with {cell.settling:.0%} for settling "
            f"{_in_both(cell.mix_l, system)}. {found.in_cells} x {cell.mix_l:.2f} l = {found.cell_mix_l:.1f} l: "
            f"{_parts(rules.mix.cell, nursery)}."
        )
    if found.pots:
        pot = found.pot
        texts.append(
            f"Pot: {_in_both(pot.pot, system)}; with {pot.settling:.0%} for settling {pot.mix_l:.2f} l. {found.pots} x "
            f"{pot.mix_l:.2f} l = {found.pots * pot.mix_l:.0f} l: {_parts(rules.mix.pot, nursery)}."
        )
    ids = {need.id for need in found.needs}
    texts += [
        f"{rules.supply[name].title}: {hung.each:g} in each bin with bags, a new one every {hung.lasts:.0f} days."
        for name, hung in rules.in_bin.items()
        if name in ids
    ]
    texts += [f"{need.rule.title}. {need.rule.note}" for need in found.needs if need.rule.note]
    texts.append(
        "What you have is taken off: write it under [supplies] in nursery.toml, such as "
        f'perlite = "40 l" or bags = 120. Names: {", ".join(need.id for need in found.needs)}.'
    )
    return texts


def _in_both(litres: float, system: System) -> str:
    """`0.96 l`, for a nursery in US units with its gallons."""
    return f"{litres:.2f} l ({quantity(litres, 'volume', 'us')})" if system == "us" else f"{litres:.2f} l"


def _parts(parts: Mapping[str, MixShare], nursery: Nursery) -> str:
    titles = nursery.book.supplies.supply
    return ", ".join(f"{titles[name].title.lower()} {share:.0%}" for name, share in shares(parts).items() if share)


def _reserves(found: BuyingList, nursery: Nursery) -> list[str]:
    """What is only kept in hand, and how much of what is used for sure beside it."""
    lines, rules = [], nursery.book.supplies.drench
    for need in found.needs:
        if need.reserve and need.id in rules:
            asked = need.expected - need.reserve
            planned = f"{_litres(asked)} l for turns planned; else " if asked else ""
            lines += paragraph(
                f"* {planned}a reserve in case of gnats: {rules[need.id].reserve} turns for every pot, as made up by "
                "its label."
            )
    return lines


def supplies_json(found: BuyingList, nursery: Nursery) -> dict[str, Any]:
    """The same as one object: volumes in litres, pieces as whole numbers.

    `to_pot` is in the mean, and what it is at most nine times in ten, likewise `need` and `to_buy` with their `_up_to`;
    `reserve` is what of the need is only kept in hand; `late`: the day to order by has gone. Supplies stand in the
    order of the list: what is to be bought, by the day to order, then what there is enough of.
    """
    return {
        **_LIST(found),
        "supplies": [_need_json(need, found) for need in found.needs],
        "in_store": [{"lot": lot.id, "count": count} for lot, count in found.in_store],
        "unforeseen": found.unforeseen,
        "cautions": [nursery.book.cautions[name].short for name in cautions_of(found)],
    }


_TO_POT = Shape(BuyingList, "expected=pots up_to=pots_up_to from=potted_from")
_LIST = Shape(
    BuyingList,
    "as_of to_stick planned to_pot bag pot",
    planned=PLANNED,
    to_pot=lambda found: _TO_POT(found),
    bag=Shape(Bag, "volume_l:3 mix_l:3"),
    pot=Shape(Potting, "volume_l=pot mix_l:3"),
)
_NUMBERS = ("need", "need_up_to", "in_hand", "to_buy", "to_buy_up_to", "reserve")
_NEED = Shape(
    Need,
    "id title=rule.title unit need=expected need_up_to=up_to in_hand to_buy to_buy_up_to needed_by order_by late "
    "reserve",
    unit=lambda need: "l" if need.rule.measure == "volume" else "piece",
    late=lambda need: need.to_buy_up_to > 0,
)


def _need_json(need: Need, found: BuyingList) -> dict[str, Any]:
    data: dict[str, Any] = _NEED(need)
    data["late"] &= need.order_by < found.as_of
    if need.rule.measure != "volume":
        return data | {key: ceil(data[key] - _JUST) for key in _NUMBERS}
    other = {
        f"to_buy_{unit.replace(' ', '_')}": round(in_unit(need.to_buy, "volume", unit), 3) for unit in ("cu ft", "gal")
    }
    return data | {key: round(data[key], 4) for key in _NUMBERS} | other
