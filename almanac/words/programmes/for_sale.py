"""An order that is to be shipped by a day, in words. Pure."""

from __future__ import annotations

from collections.abc import Mapping

from almanac.plan.context.asked import Shipment
from almanac.units import System
from almanac.words.dates import day, weekday
from almanac.words.for_sale import chance_told, destination, sold_as
from almanac.words.law import law_in_full
from almanac.words.programmes import AnyWords, DerivationWords


def values(shipment: Shipment) -> Mapping[str, str]:
    return {
        "order": shipment.order,
        "count": str(shipment.count),
        "number": shipment.number,
        "form": sold_as(shipment.form, shipment.count),
        "chance": chance_told(shipment.chance) if shipment.chance is not None else "",
        "never_stuck": f" Of that number {shipment.never_stuck} planned were never stuck." * bool(shipment.never_stuck),
        "day": day(shipment.ship_by, shipment.ordered),
        "where": destination(shipment.country, shipment.region) or "a destination not noted",
        "law": "".join(f" {line}" for line in law_in_full(shipment.laws)),
    }


def steps(shipment: Shipment, system: System) -> list[str]:
    """Where the day and the count come from."""
    of = f" of {shipment.of}" if shipment.count != shipment.of else ""
    lines = [f"Still open: {shipment.count}{of}, to be shipped by {weekday(shipment.ship_by)}, on a post day."]
    short = "" if shipment.sendable >= shipment.count else "; that is too few"
    if shipment.chance is not None:
        short = f"; the rest is ready in time with a chance of {chance_told(shipment.chance)}"
    short += f"; {shipment.never_stuck} planned were never stuck" if shipment.never_stuck else ""
    lines += law_in_full(shipment.laws)
    return [*lines, f"Of number {shipment.number}, {shipment.sendable} {shipment.form} can be sent now{short}."]


WORDS: AnyWords = (DerivationWords(of=Shipment, values=values, steps=steps),)
