"""Nothing of an old winter lingers: three winters with few rows ask for what a nursery asks for that began this one."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from almanac.actions.strike import asked_for, share_of
from almanac.nursery.nursery import Nursery
from almanac.plan.build import build_plan
from tests.nurseries import NO_FROST, SOUTHERN_FROST, Parts, bench

VARIETIES = "number,name,crop,source,protected\n7,Copper Kettle,fig,,\n8,Blue Ladder,fig,,\n"
# Of earlier winters: sold by ones, given up, kept asleep and then planted; nothing that teaches days or shares.
OLD = """2024-01-10 received 8a --count 4 --stage pot
2024-06-01 outside 8a
2024-06-20 hardened 8a
2024-07-01 sold 8a --count 1
2024-11-20 brought_in 8a
2024-11-22 resting 8a
2025-06-10 fed 8a
2025-07-01 sold 8a --count 1
2025-11-20 resting 8a
2026-05-20 woke 8a
2026-06-01 planted 8a --count 2
2025-01-05 taken 8b --count 9
2025-03-01 discarded 8b --count 9
2026-01-05 taken 8c --count 6
2026-02-20 sold 8c --count 6
"""
NEW = """2027-01-05 received 7a --count 12 --stage rooting --bin A
2027-01-06 received 7b --count 5 --stage outside
2027-01-07 taken 7c --count 8
"""
PLACES = {
    "cold": Parts(),
    "southern": Parts(
        frost=SOUTHERN_FROST, latitude=-37.0, longitude=145.0, timezone="Australia/Melbourne", country="AU"
    ),
    "frost-free": Parts(frost=NO_FROST, latitude=21.0),
}


def asked(nursery: Nursery) -> dict[str, object]:
    """What is asked for and shown, but for varieties that the other nursery does not know."""
    plan = build_plan(nursery)
    return {
        "tasks": {task.id: (task.earliest, task.due, task.latest) for task in plan.tasks},
        "looks": {look.id: (look.start, look.end) for look in plan.looks},
        "rounds": [(each.day, tuple(line.id for line in each.lines)) for each in plan.rounds],
        "rooms": [
            (room.place, room.bin, [room.demand.up_to(day) for day in plan.space.days()]) for room in plan.space.rooms
        ],
        "warnings": [(each.kind, each.day, each.lots) for each in plan.warnings],
        "share": share_of(nursery, asked_for(nursery, "7", None, None))[1].mean,
    }


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("today", [date(2027, 1, 20), date(2027, 5, 3), date(2027, 10, 20)])
def test_a_nursery_of_three_winters_asks_for_what_a_fresh_one_does(place: str, today: date, tmp_path: Path) -> None:
    parts = PLACES[place] | Parts(varieties=VARIETIES)

    old = bench(tmp_path / "old", OLD + NEW, today, **parts)
    fresh = bench(tmp_path / "fresh", NEW, today, **parts)

    assert asked(old) == asked(fresh)
