"""The logbook as text: what is a row, what is a fault, what a spreadsheet may do to it."""

from __future__ import annotations

import csv
import io
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from almanac.faults import Miswritten
from almanac.nursery.events import EVENTS
from almanac.nursery.logbook import COLUMNS, Row, not_voided, read_day, read_rows
from almanac.nursery.tables import next_numbers, torn_tail
from almanac.words.faults import fault_line
from tests.saying import refused

HEADER = ",".join(COLUMNS) + "\n"
ROW = "r1,2026-02-24,leaves,7a,,3,,,,,,2026-02-24T18:30:00.000-05:00\n"
days = st.dates(date(1970, 1, 1), date(2199, 12, 31))


def test_a_row_reads_as_it_was_written() -> None:
    rows, faults = read_rows(HEADER + ROW)

    assert faults == []
    assert rows == [
        Row(
            id="r1",
            day=date(2026, 2, 24),
            what="leaves",
            lot="7a",
            count=3,
            logged_at="2026-02-24T18:30:00.000-05:00",
            line=2,
        )
    ]
    assert ",".join(rows[0].cells()) + "\n" == ROW


def test_an_empty_logbook_has_no_rows_and_no_fault() -> None:
    assert read_rows(HEADER) == ([], [])


def test_sealed_is_the_same_step_as_stuck_whatever_its_case() -> None:
    rows, faults = read_rows(HEADER + "r1,2026-01-05,Sealed,7A,,,,A,,,,\n")

    assert faults == []
    assert (rows[0].what, rows[0].lot) == ("stuck", "7a")


def test_rows_count_by_date_then_line() -> None:
    text = (
        HEADER + "r2,2026-03-01,looked,7a,,,,,,,,\nr1,2026-02-24,looked,7a,,,,,,,,\nr3,2026-03-01,opened,7a,,,,,,,,\n"
    )

    rows = not_voided(read_rows(text)[0])

    assert [row.id for row in rows] == ["r1", "r2", "r3"]


def test_a_row_undone_counts_no_more_and_neither_does_the_undoing() -> None:
    text = HEADER + ROW + "r2,2026-02-25,void,,,,,,,r1,,\n"

    assert not_voided(read_rows(text)[0]) == []


def test_an_undoing_undone_leaves_the_row_as_it_was_however_often() -> None:
    undone_in_turn = HEADER + ROW
    for number in range(2, 7):
        undone_in_turn += f"r{number},2026-02-25,void,,,,,,,r{number - 1},,\n"
        counts = [row.id for row in not_voided(read_rows(undone_in_turn)[0])]

        assert counts == ([] if number % 2 == 0 else ["r1"])


def test_a_row_undone_twice_counts_again_only_once_both_are_undone() -> None:
    text = (
        HEADER
        + ROW
        + "".join(
            f"{name},2026-02-25,void,,,,,,,{refers},,\n" for name, refers in (("r2", "r1"), ("r3", "r1"), ("r4", "r3"))
        )
    )

    assert not_voided(read_rows(text)[0]) == []
    both = not_voided(read_rows(text + "r5,2026-02-25,void,,,,,,,r2,,\n")[0])
    assert [row.id for row in both] == ["r1"]


def test_new_names_go_on_after_the_highest_and_whatever_it_is_none_is_given_twice() -> None:
    assert next_numbers("r", {"r1", "r9", "x40", "r3b"}, 2) == ["r10", "r11"]
    assert next_numbers("", {"1", "shop-40", "12", ""}, 1) == ["13"]
    assert next_numbers("r", set(), 1) == ["r1"]
    assert next_numbers("r", {"r999999999", "r1000000000", "r" + "9" * 5000}, 2) == ["r1000000001", "r1000000002"]


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("2/27/2026", "write it like 2026-02-27"),  # month first, as a US spreadsheet saves
        ("27.02.2026", "write it like 2026-02-27"),
        ("2026/2/7", "write it like 2026-02-07"),
        ("2026-2-7", "write it like 2026-02-07"),
        ("2026-02-07 00:00:00", "write it like 2026-02-07"),
        ("3/6/2026", "write it like 2026-02-24"),  # the third of June or the sixth of March: not guessed at
        ("46077", "write it like 2026-02-24"),
        ("2026-W09-2", "write it like 2026-02-24"),
        ("20260224", "write it like 2026-02-24"),
        ("2026-02-30", "write it like 2026-02-24"),
        ("", "write it like 2026-02-24"),
        ("0206-02-24", "check the year"),
        ("9999-12-31", "check the year"),
    ],
)
def test_a_date_written_otherwise_is_told_with_the_day_meant_where_that_is_plain(written: str, told: str) -> None:
    with refused(Miswritten, told):
        read_day(written)


@given(days)
def test_a_date_is_read_as_the_calendar_prints_it(day: date) -> None:
    assert read_day(day.isoformat()) == day


@given(st.text())
def test_no_text_but_a_date_is_taken_for_one(text: str) -> None:
    try:
        day = read_day(text)
    except ValueError:
        return
    assert day.isoformat() == text


@given(st.integers(0, len(ROW) - 1))
def test_a_row_cut_anywhere_is_torn_or_has_lost_at_most_the_end_of_its_time_stamp(kept: int) -> None:
    text = HEADER + ROW[:kept]

    tail = torn_tail(text)
    rows, faults = read_rows(text)

    assert faults == []
    if kept and not tail:
        assert rows[0].cells()[:-1] == read_rows(HEADER + ROW)[0][0].cells()[:-1]
    else:
        assert (tail, rows) == (ROW[:kept], [])


def test_a_header_alone_is_not_torn() -> None:
    assert torn_tail(HEADER.rstrip("\n")) == ""


def test_a_line_after_an_open_quote_is_no_torn_row() -> None:
    """Else all rows since a stray quote could be set aside at once."""
    assert torn_tail(HEADER + 'r1,2026-02-24,noted,7a,,,,,,,"one\ntwo') == ""


plain = st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=30).map(
    lambda text: " ".join(text.split())
)


@given(
    st.lists(
        st.builds(
            Row,
            id=st.just("r"),
            day=days,
            what=st.just("noted"),
            lot=st.sampled_from(["7a", "12bc"]),
            note=plain.filter(lambda text: text.isprintable()),
        ),
        max_size=8,
    )
)
def test_whatever_a_note_holds_the_row_comes_back_the_same(written: list[Row]) -> None:
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(COLUMNS)
    for number, row in enumerate(written):
        writer.writerow([f"r{number}", *row.cells()[1:]])

    rows, faults = read_rows(stream.getvalue())

    assert faults == []
    assert [row.cells()[1:] for row in rows] == [row.cells()[1:] for row in written]


cell = st.sampled_from(
    ["", "7a", "r1", "2026-02-24", "A", "x", "3", "void", "taken", '"', "74 F", "off", "²"]
) | st.text(max_size=8)


@given(st.sampled_from([*EVENTS, "nonsense"]), st.lists(cell, min_size=12, max_size=12))
def test_any_row_at_all_is_read_or_told_with_its_line(what: str, cells: list[str]) -> None:
    stream = io.StringIO()
    csv.writer(stream, lineterminator="\n").writerow([*cells[:2], what, *cells[3:]])

    rows, faults = read_rows(HEADER + stream.getvalue())

    assert rows or faults or not any(c.strip() for c in stream.getvalue().split(","))
    assert all(fault.line is not None and "\n" not in fault_line(fault) for fault in faults)
