"""Orders as a person may write them in a spreadsheet, and what becomes of them."""

from __future__ import annotations

from datetime import date

import pytest

from almanac.nursery.order_rows import COLUMNS, OrderRow, read_orders
from almanac.nursery.orders import Order, orders_of

HEADER = ",".join(COLUMNS) + "\n"
AS_OF = date(2027, 3, 1)


def rows(*lines: str, header: str = HEADER) -> list[OrderRow]:
    """The rows of lines as a person writes them: short ones too."""
    found, faults = read_orders(header + "\n".join(lines) + "\n", ("7", "8"))
    assert not faults, faults
    return found


def one(*lines: str, logged: int = 0, as_of: date = AS_OF) -> Order:
    """The one order of some lines, with so many sold for it in the logbook."""
    [order] = orders_of(rows(*lines), {"12": (logged, date(2027, 2, 20))} if logged else {}, as_of).values()
    return order


# --- read with care ------------------------------------------------------------------------------------------------


def test_a_row_holds_what_a_person_wrote() -> None:
    [row] = rows("12,2027-02-01,7,rooted,5,2027-05-10,US,VA,,paid")

    assert row == OrderRow(
        order="12",
        day=date(2027, 2, 1),
        number="7",
        form="rooted",
        count=5,
        ship_by=date(2027, 5, 10),
        country="US",
        region="VA",
        done="",
        note="paid",
        line=2,
    )
    assert ",".join(row.cells()) == "12,2027-02-01,7,rooted,5,2027-05-10,US,VA,,paid"


def test_columns_in_another_order_capitals_and_line_ends_of_a_spreadsheet_are_read_all_the_same() -> None:
    header = "\ufeffNote,Done,Region,Country,Ship_by,Count,Form,Variety,Date,Order\r\n"
    text = header + ",,,,,5,Rooted,007,2027-02-01,12\r\n,,,\r\n"

    [row], faults = read_orders(text, ("7",))

    assert (faults, row.order, row.number, row.form, row.count) == ([], "12", "7", "rooted", 5)


@pytest.mark.parametrize("text", ["", "\n", "\ufeff", ",,,,,,,,,\n", HEADER])
def test_a_blank_file_holds_no_order_and_no_fault(text: str) -> None:
    assert read_orders(text, ("7",)) == ([], [])


def test_a_last_line_cut_short_is_not_read_as_an_order() -> None:
    found, faults = read_orders(HEADER + "12,2027-02-01,7,rooted,5,,,,,\n13,2027-02-02,7,rooted,1", ("7",))

    assert ([row.order for row in found], faults) == (["12"], [])


# --- what becomes of an order --------------------------------------------------------------------------------------


def test_an_order_is_open_until_later_rows_say_it_was_shipped() -> None:
    placed = "12,2027-02-01,7,rooted,5,,,,,"

    part = one(placed, "12,2027-02-10,7,rooted,2,,,,2027-02-10,")
    whole = one(placed, "12,2027-02-10,7,rooted,2,,,,2027-02-10,", "12,2027-02-12,,,,,,,2027-02-12,")

    assert one(placed).open == 5
    assert (part.open, part.shipped, part.shipped_on) == (3, 2, date(2027, 2, 10))
    assert (whole.open, whole.shipped, whole.shipped_on) == (0, 5, date(2027, 2, 12))


def test_what_is_cancelled_is_open_no_longer_and_what_is_reopened_is_again() -> None:
    placed, sent = "12,2027-02-01,7,rooted,5,,,,,", "12,2027-02-10,7,rooted,2,,,,2027-02-10,"

    cancelled = one(placed, sent, "12,2027-02-11,7,rooted,3,,,,Cancelled,")
    reopened = one(placed, sent, "12,2027-02-11,7,rooted,2,,,,reopened,")

    assert (cancelled.open, cancelled.shipped, cancelled.cancelled) == (0, 2, 3)
    assert (reopened.open, reopened.shipped) == (5, 0)


@pytest.mark.parametrize(("done", "shipped", "cancelled"), [("2027-02-10", 5, 0), ("cancelled", 0, 5)])
def test_a_person_may_fill_in_done_of_the_first_row_instead(done: str, shipped: int, cancelled: int) -> None:
    order = one(f"12,2027-02-01,7,rooted,5,,,,{done},")

    assert (order.open, order.shipped, order.cancelled) == (0, shipped, cancelled)


def test_shipping_that_only_the_logbook_knows_counts_and_counts_once() -> None:
    placed = "12,2027-02-01,7,rooted,5,,,,,"

    cut_short = one(placed, logged=5)  # the power went before orders.csv was written
    both = one(placed, "12,2027-02-20,7,rooted,5,,,,2027-02-20,", logged=5)

    assert (cut_short.open, cut_short.shipped, cut_short.shipped_on) == (0, 5, date(2027, 2, 20))
    assert (both.open, both.shipped) == (0, 5)


def test_a_day_looked_back_to_does_not_see_what_came_later() -> None:
    lines = "12,2027-02-01,7,rooted,5,,,,,", "12,2027-02-10,7,rooted,5,,,,2027-02-10,"

    assert orders_of(rows(*lines), {}, date(2027, 1, 31)) == {}
    assert one(*lines, as_of=date(2027, 2, 9)).open == 5
    assert one("12,2027-02-01,7,rooted,5,,,,2027-02-10,", as_of=date(2027, 2, 9)).open == 5


def test_what_is_taken_sent_or_cancelled_today_holds_today() -> None:
    placed, day = "12,2027-02-01,7,rooted,5,,,,,", date(2027, 2, 10)

    assert one(placed, as_of=date(2027, 2, 1)).open == 5
    assert one(placed, "12,2027-02-10,7,rooted,5,,,,cancelled,", as_of=day).open == 0
    assert one(placed, "12,2027-02-10,7,rooted,5,,,,2027-02-10,", as_of=day).shipped == 5
    assert one("12,2027-02-01,7,rooted,5,,,,2027-02-10,", as_of=day).shipped == 5


def test_leading_zeros_that_a_spreadsheet_drops_make_no_other_order() -> None:
    order = one("012,2027-02-01,7,rooted,5,,,,,", "12,2027-02-10,7,rooted,5,,,,2027-02-10,")

    assert order.open == 0
