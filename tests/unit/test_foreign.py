"""What a spreadsheet makes of a table: separator, encoding, order of dates, understood once for the whole file."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from almanac.nursery.foreign import Understood, understand

TODAY = date(2026, 3, 20)


def taken(text: str, encoding: str = "utf-8", **more: object) -> Understood:
    found, faults = understand(text.encode(encoding), "sheet.csv", TODAY, **more)  # type: ignore[arg-type]
    assert faults == []
    assert found is not None
    return found


def days(found: Understood) -> list[str]:
    return [found.named(cells)["date"] for _, cells in found.rows]


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_a_table_is_read_whatever_parts_its_columns_and_however_it_is_encoded(separator: str, encoding: str) -> None:
    text = "date,what,lot,note\n2026-02-24,leaves,7a,gr\xfcn\n".replace(",", separator)

    found = taken(text, encoding)

    assert (found.kind, found.separator) == ("logbook", separator)
    assert found.named(found.rows[0][1])["note"] == "gr\xfcn"


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("2026-02-24", "2026-02-24"), ("2026/2/24", "2026-02-24"), ("2026-02-24 00:00:00", "2026-02-24"),
        ("24.02.2026", "2026-02-24"), ("24.2.26", "2026-02-24"), ("2/24/2026", "2026-02-24"),
        ("02/24/26 12:00 AM", "2026-02-24"), ("24-Feb-26", "2026-02-24"), ("24 February 2026", "2026-02-24"),
        ("Feb 24, 2026", "2026-02-24"),
    ],
)  # fmt: skip
def test_a_date_is_read_in_the_ways_that_spreadsheets_write_it(written: str, meant: str) -> None:
    assert days(taken(f'date;what;lot\n"{written}";looked;7a\n')) == [meant]


def test_one_date_that_fits_one_order_alone_decides_for_all() -> None:
    found = taken("date;what;lot\n3.2.2026;looked;7a\n24.2.2026;looked;7a\n")

    assert (days(found), found.order, found.decided) == (["2026-02-03", "2026-02-24"], "dmy", 3)


def test_a_day_to_come_decides_since_only_what_has_happened_is_logged() -> None:
    assert days(taken("date,what,lot\n3/11/2026,looked,7a\n")) == ["2026-03-11"]


def test_the_copy_of_the_logbook_decides_by_the_same_row() -> None:
    text = "id,date,what,lot\nr4,1/2/2026,looked,7a\n"

    assert days(taken(text, known={"r4": date(2026, 2, 1)})) == ["2026-02-01"]
    assert days(taken(text, known={"r4": date(2026, 1, 2)})) == ["2026-01-02"]


def test_where_nothing_decides_it_is_asked_and_never_guessed() -> None:
    assert taken("date,what,lot\n1/2/2026,looked,7a\n").doubt == (2, "1/2/2026")
    assert days(taken("date,what,lot\n1/2/2026,looked,7a\n", wished="mdy")) == ["2026-01-02"]


def test_a_day_that_is_the_same_in_both_orders_needs_no_answer() -> None:
    assert taken("date,what,lot\n2/2/2026,looked,7a\n").doubt is None


def test_two_orders_in_one_file_are_said_with_their_lines() -> None:
    _, faults = understand(b"date,what,lot\n24/2/2026,looked,7a\n2/25/2026,looked,7a\n", "sheet.csv", TODAY)

    assert [(each.fact.kind, each.fact.values["lines"]) for each in faults] == [("dates_contradict", (2, 3))]


@pytest.mark.parametrize(
    ("written", "meant"), [("12.0", "12"), ("12,0", "12"), ("1.200", "1200"), ("12", "12"), ("twelve", "twelve")]
)
def test_a_count_is_digits_again(written: str, meant: str) -> None:
    found = taken(f"date;what;lot;count\n2026-02-24;potted;7a;{written}\n")

    assert found.named(found.rows[0][1])["count"] == meant


def test_a_column_that_the_table_has_not_is_left_out_and_said_but_a_slip_is_a_fault() -> None:
    assert taken("date,what,lot,weather\n2026-02-24,looked,7a,rain\n").left_out == ("weather",)
    _, faults = understand(b"date,what,lot,cuont\n2026-02-24,looked,7a,3\n", "sheet.csv", TODAY)
    assert [each.fact.kind for each in faults] == ["not_a_column"]


def test_a_file_of_something_else_is_none() -> None:
    found, faults = understand(b"one,two\n1,2\n", "sheet.csv", TODAY)

    assert (found, [each.fact.kind for each in faults]) == (None, ["no_such_table"])


@given(st.binary(max_size=300) | st.text(max_size=300).map(lambda text: f"date;what;lot\n{text}".encode()))
@example(b'date,what\n"2026')
@example(b"sep=;\r\ndate;what\r\n1/2/2026;looked\r\n")
@example(b"date,what\x00\n\x00,\x00")
def test_whatever_stands_in_a_file_it_is_understood_or_told(data: bytes) -> None:
    found, faults = understand(data, "sheet.csv", TODAY)

    assert found is not None or faults
