"""Three winters read as their growers would: nothing is said of wood that must never be said."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import pytest

from almanac.actions.season import read_season
from almanac.plan.build import build_plan
from almanac.plan.wood.forsale import offers
from almanac.terminal.forsale import forsale_text
from almanac.terminal.lots import lots_text
from almanac.terminal.season import season_text
from almanac.terminal.today import today_text
from almanac.words.tasks import text
from tests.nurseries import SOUTHERN_FROST, Parts, bench

NEVER = tomllib.loads((Path(__file__).parents[1] / "never_said.toml").read_text(encoding="utf-8"))["never"]
WEEKS = 8  # between two readings
HALF_A_YEAR = timedelta(days=182)
# One lot is sold, looked at and stuck, one forgotten, one swells, one is of the winter before.
LOG = """2025-12-01 taken 2a --count 6
2026-10-28 taken 1a --count 20
2026-11-20 taken 3a --count 15
2026-12-15 looked 1a
2027-01-12 looked 1a
2027-01-22 sold 1a --stage store --count 8
2027-02-02 stuck 1a --count 6 --bin A
2027-02-20 taken 4a --count 12
2027-03-20 pushing 4a"""
VARIETIES = "number,name,crop,source,protected\n1,Plain,fig,,\n2,Second,fig,,\n3,Long,grape,,\n4,Soft,elderberry,,\n"


def lows(*each_c: int) -> str:
    return f"[frost]\nmonthly = {{ lows = {[f'{low} C' for low in each_c]} }}"


COLD = Parts(frost=lows(-18, -16, -9, 0, 6, 12, 14, 13, 8, 1, -8, -15))
MILD = Parts(frost=lows(3, 3, 4, 6, 8, 11, 13, 13, 11, 8, 5, 4), latitude=48.0)
SOUTH = Parts(frost=SOUTHERN_FROST, latitude=-37.0, longitude=145.0, timezone="Australia/Melbourne", country="AU")


def said(folder: Path, later: timedelta, parts: Parts) -> Iterator[tuple[date, str]]:
    """Day by day all that is said, from September to June, or half a year later."""
    lines = [(date.fromisoformat(line[:10]) + later, line[10:]) for line in LOG.splitlines()]
    for number in range(0, 42, WEEKS):
        today = date(2026, 9, 6) + later + timedelta(weeks=number)
        log = "\n".join(f"{day}{what}" for day, what in lines if day <= today)
        nursery = bench(folder, log, today, **(parts | Parts(varieties=VARIETIES, bags=60)))
        plan = build_plan(nursery)
        yield today, "\n".join([today_text(plan, nursery, 14), lots_text(plan, nursery)])
        read = read_season(folder, datetime.combine(today, time(17), UTC))
        yield today, season_text(read.nursery, read.middle, read.crops, read.lots, read.post)
        yield today, forsale_text(offers(nursery), nursery)
        yield today, "\n".join(text(task, nursery.book, today) for task in plan.tasks)


@pytest.mark.parametrize(
    ("later", "parts"),
    [(timedelta(0), COLD), (timedelta(0), MILD), (HALF_A_YEAR, SOUTH)],
    ids=["cold", "mild", "southern"],
)
def test_a_winter_of_wood_is_told_without_a_word_that_must_never_be_said(
    later: timedelta, parts: Parts, tmp_path: Path
) -> None:
    for today, told in said(tmp_path, later, parts):
        for each in NEVER:
            found = re.search(each["says"], told)
            assert found is None, (today, each["why"], found)
