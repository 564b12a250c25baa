"""How forecasts would have done, as a table and as JSON. Pure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from almanac.forecast.back_test import Score, Tried, score
from almanac.forecast.model import Days
from almanac.nursery.nursery import Nursery
from almanac.terminal.encoded import Shape
from almanac.terminal.table import paragraph, table

_WAYS: tuple[tuple[str, Callable[[Tried], Days]], ...] = (
    ("with_learning", lambda each: each.with_learning),
    ("by_rule", lambda each: each.by_rule),
)


def back_test_text(tried: Sequence[Tried], nursery: Nursery) -> str:
    """How near the likely days would have been, how often what came lay between early and late, and how far apart."""
    if not tried:
        return "No milestone has come yet that could have been forecast.\n"
    lines = paragraph(
        f"{len(tried)} milestones, each forecast on the day from which it counts, by what was logged until then: with "
        "what your lots had taught by that day, and by the rule alone. Off: days between the likely day and that on "
        "which it came, in the mean. In: the share that came between early and late; 80% is meant. Wide: days from "
        "early to late."
    )
    rows = [(name.replace("_", " "), *_cells(of)) for name, of in _by_milestone(tried, nursery).items()]
    header = ("", "tried", "off", "in", "wide", "by rule: off", "in", "wide")
    lines += ["", *table(rows, header, indent=2)]
    doubted = sorted({f"{each.lot} ({each.milestone.replace('_', ' ')})" for each in tried if each.held_out})
    if doubted:
        lines += ["", *paragraph(f"Not counted, as their dates are too far off to be believed: {', '.join(doubted)}.")]
    return "\n".join(lines) + "\n"


def _by_milestone(tried: Sequence[Tried], nursery: Nursery) -> dict[str, list[Tried]]:
    believed = [each for each in tried if not each.held_out]
    names = dict.fromkeys(rule.name for method in nursery.book.methods for rule in nursery.book.milestones_for(method))
    found = {
        name: [each for each in believed if each.milestone == name]
        for name in names
        if any(each.milestone == name for each in believed)
    }
    return found | {"all": believed} if believed else {}


def _cells(of: Sequence[Tried]) -> list[str]:
    scores = [score(of, days_of) for _, days_of in _WAYS]
    told = [(f"{each.error_days:.1f}", f"{each.inside:.0%}", f"{each.width_days:.1f}") for each in scores]
    return [str(len(of)), *(cell for cells in told for cell in cells)]


def back_test_json(tried: Sequence[Tried], nursery: Nursery) -> dict[str, Any]:
    """The same as one object: `milestones` by name, and `all`, with and without learning; `tried` one by one."""
    return {
        "as_of": nursery.as_of,
        "milestones": {
            name: {"tried": len(of), **{key: _SCORE(score(of, days)) for key, days in _WAYS}}
            for name, of in _by_milestone(tried, nursery).items()
        },
        "tried": _TRIED(tried),
    }


_SCORE = Shape(Score, "error_days inside width_days")
_TRIED = Shape(Tried, "lot milestone told_on came with_learning by_rule held_out")
