"""What must hold of the care against gnats in any nursery: drawn ones."""

from __future__ import annotations

import tempfile
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from almanac.plan.care.programmes.fungus_gnats.derivation import GnatDays
from almanac.plan.model import Plan
from tests.nurseries import bench
from tests.sizes import examples
from tests.unit.given import planned

START = date(2027, 1, 4)
LOTS = ("7a", "7b", "8a", "8b")
WAYS = ("larvicide", "nematodes", "drying", "traps")
Row = tuple[int, str]


def day(number: int) -> date:
    return START + timedelta(days=number)


@st.composite
def lives(draw: st.DrawFn, lot: str) -> list[Row]:
    """Rows of one lot: stuck in a bin, and then as far as it comes, in an order that can happen."""
    came = draw(st.integers(0, 10))
    rows = [(came, f"received {lot} --count 9 --stage rooting --bin {draw(st.sampled_from('AB'))}")]
    on = came
    for what in ("leaves", "roots", "opened", "potted"):
        on += draw(st.integers(3, 15))
        if draw(st.booleans()):
            part = " --count 4" if what == "potted" and draw(st.booleans()) else ""
            rows.append((on, f"{what} {lot}{part}"))
    return rows


@st.composite
def nurseries(draw: st.DrawFn) -> tuple[list[Row], int, str, str, str]:
    """Rows, the day stood on, the way, mat and air."""
    rows = [row for lot in LOTS[: draw(st.integers(1, 4))] for row in draw(lives(lot))]
    for place in draw(st.lists(st.sampled_from(("--bin A", "--bin B")), min_size=1, max_size=4)):
        count = draw(st.sampled_from(("", " --count 2", " --count 12")))
        rows.append((draw(st.integers(11, 60)), f"gnats {place}{count}"))
    if draw(st.booleans()):
        setting = draw(st.sampled_from(("off", "22C", "30C")))
        rows.append((draw(st.integers(12, 60)), f"mat --bin A --value {setting}"))
    mat, air = draw(st.sampled_from(("18 C", "22 C", "26 C", "30 C"))), draw(st.sampled_from(("5 C", "12 C", "20 C")))
    return rows, draw(st.integers(15, 70)), draw(st.sampled_from(WAYS)), mat, air


def unrooted_and_shut(rows: list[Row], lot: str, today: int) -> bool:
    """Whether all of a lot is in bags that nobody opened and no root was seen in, by its rows alone."""
    said = {words.split()[0] for on, words in rows if on <= today and f" {lot}" in words}
    return not said & {"roots", "opened", "potted"}


@pytest.mark.long
@settings(max_examples=examples(30))
@given(nurseries())
def test_shut_bags_stay_dry_turns_meet_each_larva_and_it_ends(drawn: tuple[list[Row], int, str, str, str]) -> None:
    rows, today, way, mat, air = drawn
    log = "\n".join(f"{day(on)} {words}" for on, words in sorted(rows, key=lambda row: row[0]) if on <= today)
    with tempfile.TemporaryDirectory() as folder:
        nursery = bench(Path(folder), log, day(today), bins="AB", mat=mat, air=air, gnats=f'way = "{way}"')
        plan = planned(nursery)

    assert len(nursery.rows) == log.count("\n") + 1
    for task in plan.tasks:
        if task.rule.id in ("gnat_drench", "gnat_nematodes", "gnat_dry"):
            for lot in task.lots:
                assert not unrooted_and_shut(rows, lot, today), f"{task.id} of {lot}"
    for lot in nursery.stock.lots:
        _meets_every_larva(plan, lot)
    for look in plan.looks:
        if look.rule.id in ("gnat_card_look", "gnat_cull"):
            assert look.end <= day(today) + timedelta(days=130)


def _meets_every_larva(plan: Plan, lot: str) -> None:
    """From one turn of a lot at its earliest to the next at its latest, no larva is grown; the last one is the end."""
    turns = [task for task in plan.tasks if task.rule.id in ("gnat_drench", "gnat_nematodes") and lot in task.lots]
    turns.sort(key=lambda task: task.earliest)
    for one, two in pairwise(turns):
        assert isinstance(one.derivation, GnatDays)
        assert one.derivation.larva_days is not None
        assert (two.latest - one.earliest).days < one.derivation.larva_days
    assert all(isinstance(turn.derivation, GnatDays) and turn.earliest <= turn.derivation.end for turn in turns)
