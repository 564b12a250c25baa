"""The whole of a caution in the first entry of a season that needs it, a line in those after it."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

from almanac.feed.entries import entries_of
from almanac.nursery.nursery import Nursery
from almanac.plan.model import Plan
from almanac.plan.past import Past
from tests.nurseries import SOUTHERN_FROST, bench
from tests.unit.given import planned

LOG = """
2027-01-05 received 7a --count 12 --stage rooting --bin A
2027-01-05 received 8a --count 6 --stage rooting --bin A
2027-01-05 taken 8b --variety 8 --count 9
"""


def _telling(plan: Plan, nursery: Nursery, text: str) -> list[date]:
    """The days of the entries that hold a text."""
    return [entry.day for entry in entries_of(plan, nursery) if text in entry.description.replace("\n", " ")]


def test_the_first_entry_that_needs_a_caution_tells_it_whole_and_those_after_in_a_line(tmp_path: Path) -> None:
    nursery = bench(tmp_path, LOG, date(2027, 1, 7))
    plan = planned(nursery)

    mould = nursery.book.cautions["mould_spores"]
    whole, short = _telling(plan, nursery, mould.text), _telling(plan, nursery, mould.short)

    assert whole[0] == min(whole + short)
    assert short  # rounds more than a week off tell neither yet, as they name no work
    assert len([day for day in whole if day < date(2027, 8, 1)]) == 1


def test_every_caution_of_a_plan_is_told_whole_once_a_season(tmp_path: Path) -> None:
    nursery = bench(tmp_path, LOG, date(2027, 1, 7))
    plan = planned(nursery)

    told = [
        (name, entry.day.year + (entry.day.month >= 8))
        for entry in entries_of(plan, nursery)
        for name in entry.cautions
    ]

    named = {name for name, caution in nursery.book.cautions.items() if _telling(plan, nursery, caution.text)}
    assert named == {name for name, _ in told}
    assert len(told) == len(set(told))


def test_a_caution_told_whole_by_an_entry_that_is_over_is_a_line_until_the_next_season(tmp_path: Path) -> None:
    nursery = bench(tmp_path, LOG, date(2027, 1, 7))
    plan = planned(nursery, Past(cautioned={"mould_spores": (date(2027, 1, 6),)}))

    whole = _telling(plan, nursery, nursery.book.cautions["mould_spores"].text)

    assert all(day >= date(2027, 8, 1) for day in whole)


def test_the_season_turns_with_the_hemisphere(tmp_path: Path) -> None:
    log = LOG.replace("2027-01", "2027-07")
    nursery = bench(tmp_path, log, date(2027, 7, 7), latitude=-37.3, frost=SOUTHERN_FROST)
    plan = planned(nursery, Past(cautioned={"mould_spores": (date(2027, 1, 20),)}))

    whole = _telling(plan, nursery, nursery.book.cautions["mould_spores"].text)

    assert min(whole) - date(2027, 7, 7) <= timedelta(days=4)  # January was another season there


def test_the_sap_of_a_fig_is_told_of_where_it_is_cut_and_not_where_a_lamp_goes_on(tmp_path: Path) -> None:
    log = "2027-01-05 received 7a --count 12 --stage rooting --bin A\n2027-01-20 leaves 7a\n"
    nursery = bench(tmp_path, log, date(2027, 1, 20))
    sap = nursery.book.cautions["sap"]

    told = {
        entry.id.rule: sap.text in text or sap.short in text
        for entry in entries_of(planned(nursery), nursery)
        if (text := entry.description.replace("\n", " "))
    }

    assert told["take_wood"]
    assert not told["light"]
