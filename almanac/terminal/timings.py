"""The grower's own days of each interval beside the rule's, as a table and as JSON. Pure."""

from __future__ import annotations

from math import exp, sqrt
from statistics import NormalDist
from typing import Any

from almanac.forecast.durations import Normal
from almanac.forecast.history import surroundings
from almanac.forecast.learning import Learned
from almanac.forecast.strike import RatePart
from almanac.nursery.nursery import Nursery
from almanac.rulebook.models import MilestoneRule
from almanac.terminal.encoded import Shape
from almanac.terminal.table import paragraph, paragraphs, table
from almanac.units import temperature
from almanac.words.milestones import by_potting, learned_from
from almanac.words.sentences import small

_NINE_IN_TEN = NormalDist().inv_cdf(0.9)
Line = tuple[RatePart, str, Learned, float]


def _lines(nursery: Nursery, asked: RatePart) -> list[Line]:
    """What is learned, in the order milestones come: whose, the milestone, what, and the rule's days."""
    found = surroundings(nursery).experience
    lines = []
    for crop, method in sorted({(crop, method) for crop, method, _ in found}):
        if asked.crop not in ("", crop) or asked.method not in ("", method):
            continue
        for rule in nursery.book.milestones_for(method):
            learned, duration = found.get((crop, method, rule.name)), nursery.book.duration(crop, rule, method)
            if learned and duration:
                lines.append((RatePart(crop=crop, method=method), rule.name, learned, duration.median))
    return lines


def _of_variety(learned: Learned, number: str, lot_var: float) -> Normal:
    """The offset of a variety, without how far its lots differ; the grower's own where no variety is asked for."""
    if not number:
        return learned.grower
    each = learned.varieties.get(number, learned.other)
    return Normal(mean=each.mean, var=max(each.var - lot_var, 0.0))


def durations_text(nursery: Nursery, asked: RatePart) -> str:
    """Days of one cutting by the rule and on this bench, with the range of 80 %; empty where no lot says anything."""
    lines = _lines(nursery, asked)
    if not lines:
        return ""
    whose = f"number {asked.number}" if asked.number else "you"
    out = [f"Days of one cutting, by the rule and with {whose}"]
    for part in dict.fromkeys(line[0] for line in lines):
        crop, method = nursery.book.crops[part.crop].title, nursery.book.methods[part.method].title.lower()
        rows, notes = [], list[str]()
        same = [line for line in lines if line[0] == part]
        for _, name, learned, median in same:
            rule = next(rule for rule in nursery.book.milestones_for(part.method) if rule.name == name)
            rows.append(_row(nursery, part, rule, learned, median, asked.number))
            notes += [f"- {rule.title}: {small(text)}" for text in learned_from(learned)]
        if any(learned.potted for _, _, learned, _ in same):
            notes.append(f"- {by_potting('lots that tell by their potting')}")
        out += [
            "",
            *paragraph(f"{crop}, {method}"),
            *table(rows, ("", "lots", "rule", "here", "range", "from"), indent=2),
            *paragraphs(notes, 2),
        ]
    out += [
        "",
        *paragraph(
            "Half of all cuttings take no longer. Lots, of all varieties: with a date, +by their potting alone, and "
            "(still waiting). Range: where those days lie in 80 cases of 100."
        ),
    ]
    return "\n".join(out) + "\n"


def _row(
    nursery: Nursery, part: RatePart, rule: MilestoneRule, learned: Learned, median: float, number: str
) -> tuple[str, ...]:
    """A milestone, its lots, the rule's days, those here with their range, and what they are counted from."""
    duration = nursery.book.duration(part.crop, rule, part.method)
    assert duration
    low, days, high = _days(median, _of_variety(learned, number, duration.between_lots**2))
    told = f" +{learned.potted}" if learned.potted else ""
    waiting = f" ({learned.waiting})" if learned.waiting else ""
    at = f" at {temperature(duration.at, nursery.units)}" if duration.at is not None else ""
    left_out = f"; left out: {', '.join(learned.held_out)}" if learned.held_out else ""
    count, last = f"{learned.finished}{told}{waiting}", f"{rule.after[0].replace('_', ' ')}{at}{left_out}"
    return rule.title, count, f"{median:g} d", f"{days:.1f} d", f"{low:.0f}–{high:.0f}", last


def _days(median: float, offset: Normal) -> tuple[float, float, float]:
    off = _NINE_IN_TEN * sqrt(offset.var)
    return median * exp(offset.mean - off), median * exp(offset.mean), median * exp(offset.mean + off)


_LEARNED = Shape(
    Learned,
    "lots=finished waiting held_out by_potting=potted seen_unlooked=unlooked given_up wider",
    held_out=lambda learned: list(learned.held_out),
)


def durations_json(nursery: Nursery, asked: RatePart) -> list[dict[str, Any]]:
    """The same; `varieties` has the days of each variety met."""
    return [
        {
            "crop": part.crop,
            "method": part.method,
            "milestone": name,
            **_LEARNED(learned),
            "rule_days": median,
            **dict(zip(("low", "days", "high"), _days(median, learned.grower), strict=True)),
            "varieties": {number: median * exp(each.mean) for number, each in learned.varieties.items()},
        }
        for part, name, learned, median in _lines(nursery, asked)
    ]
