"""Whose turn it is to move, of entries published for hardening that wait for potting and can do so no longer. Pure.

One entry a morning, with all its lots, the first to come first: many crops may go out once the same frost is over, and
all that waits for their potting would move on one morning. Those whose turn it is not are taken to be kept a while.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta

from almanac.forecast.model import Days, Milestone
from almanac.plan.ids import EntryId
from almanac.plan.past import Held, Past

_WAITS_ITS_TURN = timedelta(days=14)  # at most: later it moves with others


def one_a_morning(found: Mapping[str, Mapping[str, Milestone]], past: Past) -> dict[str, Mapping[str, Milestone]]:
    """The milestones of every lot, those whose published hardening must wait for its turn to move taken to keep it.

    Args:
        found: by lot and name
        past: what was published
    """
    gone: dict[Held, list[str]] = {}
    for lot, milestones in found.items():
        goes = milestones.get("set_out")
        told = past.to_come(EntryId(lot, "harden_out")) if goes and goes.soonest and not goes.planned else []
        for held in told:
            if goes and goes.days and not goes.keeps(held[1], goes.days[1]):
                gone.setdefault(held, []).append(lot)
    waiting = {lot for held in sorted(gone, key=lambda held: (held[1], held[0]))[1:] for lot in gone[held]}
    return {lot: _waits_its_turn(each) if lot in waiting else each for lot, each in found.items()}


def _waits_its_turn(milestones: Mapping[str, Milestone]) -> Mapping[str, Milestone]:
    return {name: replace(each, soonest=_sooner(each.soonest)) for name, each in milestones.items()}


def _sooner(days: Days | None) -> Days | None:
    if days is None:
        return None
    early, likely, late = (day - _WAITS_ITS_TURN for day in days)
    return early, likely, late
