"""From rows to lots: every change of a count is a row, and nothing else."""

from __future__ import annotations

import tomllib
from collections import Counter
from datetime import date, timedelta
from itertools import count

import pytest
from hypothesis import given
from hypothesis import strategies as st

from almanac.faults import Fault
from almanac.nursery.events import EVENTS, STAGES, Event
from almanac.nursery.logbook import COLUMNS, Row, not_voided, read_rows, row_problems
from almanac.nursery.lots import Lot, Stock, next_letter
from almanac.nursery.replay import go_on, replay
from almanac.nursery.settings import Settings
from almanac.nursery.varieties import Variety
from almanac.words.faults import fact_text
from tests.documents import read
from tests.faults.bench import NURSERY

NURSERY_SETTINGS = read(Settings, tomllib.loads(NURSERY))
VARIETIES = {number: Variety(number=number, name=f"Invented {number}", crop="fig") for number in ("1", "7")}
START = date(2025, 12, 1)
GIVEN = (NURSERY_SETTINGS, VARIETIES, {"sealed_bag": "bin"}, {"fig": ["sealed_bag"]})


def replayed(rows: list[Row]) -> tuple[Stock, list[Fault]]:
    return replay(not_voided(rows), *GIVEN, rows)


def grown(text: str) -> dict[str, Lot]:
    """The lots of a logbook without faults, from rows without id, refers, note and time stamp."""
    numbers = count(1)
    lines = [f"r{next(numbers)},{line}" for line in text.split("\n") if line]
    lines = [line + "," * (11 - line.count(",")) for line in lines]
    rows, faults = read_rows("\n".join([",".join(COLUMNS), *lines]) + "\n")
    assert faults == []
    stock, impossible = replayed(rows)
    assert impossible == []
    return dict(stock.lots)


def counts(lot: Lot) -> dict[str, int]:
    return {stage: lot.count(stage) for stage in STAGES if lot.count(stage)}


# --- conservation --------------------------------------------------------------------------------------------------

MOVERS = [event for event in EVENTS.values() if event.kind == "step"]


@st.composite
def some_row(draw: st.DrawFn) -> Row:
    """A row about a few lots, right by itself, that may or may not be possible after others."""
    event = draw(st.sampled_from(MOVERS))
    number = draw(st.sampled_from(["1", "7"]))
    lot = number + draw(st.sampled_from("aaabc"))
    amount = draw(st.integers(1, 9))
    how_many = amount if event.count == "must" or draw(st.booleans()) else None
    stage = draw(st.sampled_from(event.takes_from or STAGES)) if draw(st.booleans()) else ""
    starts = event.target == "variety"
    return Row(
        id="r",
        day=START,
        what=event.name,
        lot="" if starts else lot,
        variety=number if starts else "",
        count=None if event.count == "no" else how_many,
        stage="" if event.name == "joined" else stage,
        bin="A" if event.bin == "must" else "",
        value="",
        refers=number + draw(st.sampled_from("ab")) if event.name == "joined" else "",
        note="counted again" if event.name == "counted" else "",
    )


@st.composite
def some_rows(draw: st.DrawFn) -> list[Row]:
    first = [
        Row(id="r", day=START, what="taken", variety=number, count=draw(st.integers(5, 20))) for number in ("1", "7")
    ]
    rows = [*first, *draw(st.lists(some_row(), min_size=1, max_size=20))]
    days = [START + timedelta(days=draw(st.integers(0, 2)) + number) for number in range(len(rows))]
    return [
        Row(**{**row.__dict__, "id": f"r{n}", "day": max(days[: n + 1]), "line": n + 2}) for n, row in enumerate(rows)
    ]


def tally(stock: Stock) -> Counter[tuple[str, str]]:
    """How many of each variety are in each stage."""
    found: Counter[tuple[str, str]] = Counter()
    for lot in stock.lots.values():
        for cohort in lot.cohorts:
            found[lot.number, cohort.stage] += cohort.count
    return found


def change_by(row: Row, event: Event, before: Stock) -> Counter[tuple[str, str]]:
    """What a row says that it changes, by a second way of counting: from its own cells and the counts before it."""
    change: Counter[tuple[str, str]] = Counter()
    if event.target == "variety":
        change[row.variety, row.stage or "store"] += row.count or 0
        return change
    lot = before.lots[row.lot]
    if row.what == "joined":
        return change
    held = [stage for stage in event.takes_from if lot.count(stage)]
    stage = row.stage or held[0]
    there = lot.count(stage)  # type: ignore[arg-type]  # a stage, drawn from the list of them
    if row.what in ("counted", "cut_up"):
        change[lot.number, stage] += (row.count or 0) - there
        return change
    taken = there if row.count is None else row.count
    change[lot.number, stage] -= taken
    if event.to != "gone":
        change[lot.number, event.to] += taken
    return change


@given(some_rows())
def test_every_change_of_a_count_is_a_row_and_no_count_is_ever_negative(rows: list[Row]) -> None:
    before, faults_before = replayed([])

    for number, row in enumerate(rows):
        assert row_problems(row) == []
        after, faults = replayed(rows[: number + 1])

        assert [fault.line for fault in faults[: len(faults_before)]] == [fault.line for fault in faults_before]
        if len(faults) > len(faults_before):
            assert faults[-1].line == row.line
            assert tally(after) == tally(before)
        else:
            change = change_by(row, row.event, before)
            moved = tally(after)
            moved.subtract(tally(before))
            assert {key: n for key, n in moved.items() if n} == {key: n for key, n in change.items() if n}
        assert all(cohort.count > 0 for lot in after.lots.values() for cohort in lot.cohorts)
        before, faults_before = after, faults


@given(some_rows(), st.data())
def test_undoing_the_last_row_leaves_what_was_before_it(rows: list[Row], data: st.DataObject) -> None:
    kept = rows[: data.draw(st.integers(1, len(rows)))]
    undoing = Row(id="v", day=kept[-1].day, what="void", refers=kept[-1].id, line=len(kept) + 2)

    undone, faults = replayed([*kept, undoing])
    before, faults_before = replayed(kept[:-1])

    assert tally(undone) == tally(before)
    assert [fault.line for fault in faults] == [fault.line for fault in faults_before]


@given(some_rows(), st.data())
def test_rows_after_all_others_go_on_from_what_stands_there(rows: list[Row], data: st.DataObject) -> None:
    sound: list[Row] = []
    for row in rows:
        sound += [row] if not replayed([*sound, row])[1] else []
    known = data.draw(st.integers(1, len(sound)))

    after = go_on(replayed(sound[:known])[0], sound[known:], *GIVEN, sound)

    assert after == replayed(sound)[0]
    assert [*after.lots] == [*replayed(sound)[0].lots]


def test_a_row_that_takes_the_letter_an_older_one_got_by_itself_replays_them_all() -> None:
    older = [Row(id="r1", day=START, what="taken", variety="7", count=5)]
    newer = [Row(id="r2", day=START, what="taken", lot="7a", variety="7", count=8)]

    assert go_on(replayed(older)[0], newer, *GIVEN, [*older, *newer]) is None
    assert {lot.id: lot.total for lot in replayed([*older, *newer])[0].lots.values()} == {"7a": 8, "7b": 5}


def test_a_row_that_cannot_be_does_not_go_on() -> None:
    older = [Row(id="r1", day=START, what="taken", variety="7", count=5)]
    newer = [Row(id="r2", day=START, what="sold", lot="7a", count=6)]

    assert go_on(replayed(older)[0], newer, *GIVEN, [*older, *newer]) is None


# --- steps ---------------------------------------------------------------------------------------------------------


def test_part_of_a_stored_lot_makes_the_next_letter() -> None:
    lots = grown("2025-12-16,taken,,7,20\n2026-01-04,stuck,7a,,12,,A\n")

    assert (counts(lots["7a"]), counts(lots["7b"])) == ({"store": 8}, {"rooting": 12})
    assert (lots["7b"].split_from, lots["7b"].bin) == ("7a", "A")


def test_the_rest_of_a_stored_lot_keeps_its_letter() -> None:
    lots = grown("2025-12-16,taken,,7,20\n2026-01-04,stuck,7a,,,,A\n")

    assert {name: counts(lot) for name, lot in lots.items()} == {"7a": {"rooting": 20}}


def test_a_number_alone_means_its_oldest_stored_lot() -> None:
    lots = grown("2025-12-16,taken,,7,5\n2025-12-20,taken,,7,6\n2026-01-04,stuck,,7,,,A\n")

    assert (counts(lots["7a"]), counts(lots["7b"])) == ({"rooting": 5}, {"store": 6})


def test_a_lot_restuck_starts_a_new_clock_and_remembers_its_parent() -> None:
    lots = grown("2025-12-16,taken,,7,9\n2026-01-04,stuck,7a,,,,A\n2026-02-20,restuck,7a,,4\n")

    assert (counts(lots["7a"]), counts(lots["7b"])) == ({"rooting": 5}, {"rooting": 4})
    assert (lots["7b"].parent, lots["7b"].started, lots["7b"].bin) == ("7a", date(2026, 2, 20), "A")


def test_a_cutting_once_potted_counts_as_potted_wherever_it_went() -> None:
    rows = """2025-12-02,received,7a,7,12,rooting,A
2026-02-01,potted,7a,,5
2026-05-05,outside,7a,,3
2026-05-20,sold,7a,,1,outside
2026-05-21,died,7a,,2,rooting
"""

    assert grown(rows)["7a"].potted_so_far == 5


def test_the_first_come_go_first() -> None:
    lots = grown(
        "2025-12-16,taken,,7,9\n2026-01-04,stuck,7a,,,,A\n2026-02-20,potted,7a,,4\n2026-03-01,potted,7a,,3\n"
        "2026-03-02,sold,7a,,4,pot\n"
    )

    assert lots["7a"].since("pot") == date(2026, 3, 1)
    assert counts(lots["7a"]) == {"rooting": 2, "pot": 3}


def test_a_stocktake_may_find_more_and_open_a_closed_lot_again() -> None:
    lots = grown(
        "2025-12-16,taken,,7,2\n2026-01-04,discarded,7a,,2\n2026-01-05,counted,7a,,1,store,,found behind a box\n"
    )

    assert counts(lots["7a"]) == {"store": 1}


def test_a_lot_without_its_letter_in_the_row_keeps_it_when_later_rows_bring_theirs() -> None:
    lots = grown(
        "2025-12-16,taken,,7,20\n2026-01-04,stuck,7a,,5,,A\n2026-01-05,stuck,7a,,6,,A,,7c\n2026-01-06,looked,7b\n"
    )

    assert {name: counts(lot) for name, lot in lots.items()} == {
        "7a": {"store": 9},
        "7b": {"rooting": 5},
        "7c": {"rooting": 6},
    }


def test_letters_run_on_after_z() -> None:
    assert [next_letter(letters) for letters in ("", "a", "z", "az", "zz")] == ["a", "b", "aa", "ba", "aaa"]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("2026-03-08,potted,7b,,9", "7b has 8 rooting; 9 cannot be potted"),
        ("2026-03-08,potted,7a", "7a has 8 in store and none rooting; none can be potted"),
        ("2026-03-08,died,7b,,1", "7b has 8 rooting and 4 in pots; say from which stage: rooting or pot"),
        ("2025-12-20,looked,7b", "there is no lot '7b' yet on 2025-12-20; check the date"),
        ("2026-03-08,outside,7b,,5", "7b has 4 in pots; 5 cannot be put outside"),
        ("2026-03-08,cut_up,7a,,8", "7a has 8 in store; cut up they are more, not 8: write the new count"),
        ("2026-03-08,cut_up,7a,,3,rooting", "7a has 8 in store and none rooting; there is nothing to cut up"),
        ("2026-03-08,callus,7b,,9", "7b has 8; callus cannot show on 9"),
    ],
)
def test_a_row_that_cannot_have_happened_is_told_with_the_numbers(line: str, told: str) -> None:
    text = ",".join(COLUMNS) + (
        "\nr1,2025-12-16,taken,,7,20\nr2,2026-01-04,stuck,7a,,12,,A\nr3,2026-03-01,potted,7b,,4\nr4,"
    )
    rows, faults = read_rows(text + line + "\n")
    assert faults == []

    _, impossible = replayed(rows)

    assert [(fact_text(fault.fact), fault.line) for fault in impossible] == [(told, 5)]
