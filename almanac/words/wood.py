"""The wood plan in words: what cuttings are for, which plant they come from, until when they keep. Pure."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from almanac.plan.wood.cuts import Cut, Kept, Uses
from almanac.words.dates import day
from almanac.words.season import past_range


def of_number(count: int, number: str) -> str:
    """`6 of no. 8`, which nobody reads as a share."""
    return f"{count} of no. {number}"


def uses_words(uses: Uses) -> str:
    """`12 to stick, 5 ordered, 3 spare`."""
    told = (uses.planned, "to stick"), (uses.orders, "ordered"), (uses.sale, "to sell"), (uses.spare, "spare")
    return ", ".join(f"{count} {what}" for count, what in told if count)


def cut_words(cut: Cut) -> str:
    """`20 (12 to stick, 5 ordered, 3 spare) from south wall 12, hedge 8`."""
    purpose = uses_words(cut.uses)
    of = [(mother.place or "the mother plant", count) for mother, count in cut.shares]
    shares = [f"{place}{f' {count}' if len(of) > 1 else ''}" for place, count in of]
    said = f"{cut.count}{f' ({purpose})' if purpose else ''}"
    doubtful = "; in doubt: nothing of it for sale" if any(m.health == "doubtful" for m, _ in cut.shares) else ""
    return f"{said} from {', '.join(shares)}{doubtful}" if shares else said


def kept_words(kept: Kept, as_of: date) -> str:
    """What a stored lot is for and until when: `5 to sell till 20 Jan, 7 to stick by 28 Feb`."""
    wood, uses = kept.wood, kept.uses
    if wood.past(as_of):
        return past_range(wood.until, as_of)
    if wood.closes < as_of:
        uses = replace(uses, sale=0, spare=uses.spare + uses.sale)
    sold = f"sold till {day(wood.closes, as_of)}, " if wood.closes >= as_of and uses.orders + uses.sale else ""
    return f"{uses_words(uses) or 'nothing'}; {sold}stuck by {day(wood.until, as_of)}"
