"""What there is to sell: from the lines a grower logs to what may still be promised."""

from __future__ import annotations

import csv
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Unpack

import pytest

from almanac.actions.forsale import for_sale, list_of
from almanac.actions.record import record
from almanac.actions.request import Request
from almanac.faults import Refusal
from almanac.nursery.nursery import Nursery
from almanac.nursery.order_rows import Form
from almanac.plan.build import build_plan
from almanac.plan.wood.forsale import Offer, offer_of, offers
from almanac.words.faults import told
from almanac.words.tasks import text, title
from tests.nurseries import Parts, bench
from tests.unit.given import task

TODAY = date(2027, 2, 1)
STORED = "2026-12-15 taken 7a --count 20\n"
PLANTS = "2026-12-15 received 7a --count 9 --stage outside\n"


def lane(folder: Path, log: str, *lines: str, today: date = TODAY, **parts: Unpack[Parts]) -> Nursery:
    """A nursery with orders; each is a line of `orders.csv`."""
    return bench(folder, log, today, **(Parts(orders=lines) | parts))


def offer(nursery: Nursery, form: Form = "dormant", number: str = "7") -> Offer:
    return offer_of(nursery, number, form)


def reason(found: Offer) -> str:
    """Why its first lot is held back, empty where it is not."""
    return found.batches[0].hold.reason if found.batches[0].hold else ""


# --- dormant cuttings ----------------------------------------------------------------------------------------------


def test_stored_wood_is_for_sale_with_its_age_and_the_days_it_still_keeps(tmp_path: Path) -> None:
    nursery = lane(tmp_path, STORED + "2027-01-20 taken 7b --count 5")

    found = offer(nursery)

    assert (found.free, found.there) == (25, 25)
    assert [(batch.lot, batch.count, (TODAY - batch.since).days) for batch in found.batches] == [
        ("7a", 20, 48), ("7b", 5, 12),
    ]  # fmt: skip
    assert [batch.wood.keeps for batch in found.batches if batch.wood] == [
        (date(2027, 2, 9), date(2027, 4, 6)), (date(2027, 3, 17), date(2027, 5, 12)),
    ]  # fmt: skip  # 8 to 16 weeks after it was cut


def test_what_is_stuck_sold_kept_or_dead_is_no_longer_for_sale(tmp_path: Path) -> None:
    log = """2027-01-05 stuck 7a --count 4 --bin A
2027-01-06 sold 7a --count 3 --stage store
2027-01-07 kept 7a --count 1 --stage store
2027-01-08 died 7a --count 2 --stage store"""

    assert offer(lane(tmp_path, STORED + log)).free == 10


def test_wood_taken_today_can_be_sold_today(tmp_path: Path) -> None:
    assert (
        offer(lane(tmp_path, "2027-02-01 taken 7a --count 20\n2027-02-01 sold 7a --count 6 --stage store")).free == 14
    )


def test_potted_plants_put_into_the_cold_are_no_dormant_cuttings(tmp_path: Path) -> None:
    log = "2027-01-05 received 7a --count 6 --stage rooting --bin A\n2027-01-20 stored 7a --count 2"

    assert offer(lane(tmp_path, log)).batches == ()


@pytest.mark.parametrize(
    ("line", "reason", "until"),
    [
        ("2027-01-20 pushing 7a", "pushing", None),
        ("2027-01-20 mould 7a", "mould", None),
        ("2027-01-20 gnats 7a", "gnats", None),
        ("2027-01-28 treated 7a --value copper", "treated", date(2027, 2, 4)),
    ],
)
def test_wood_in_trouble_or_awake_is_there_but_not_to_be_sent(
    line: str, reason: str, until: date | None, tmp_path: Path
) -> None:
    found = offer(lane(tmp_path, STORED + line))

    assert (found.there, found.held, found.sound, found.free) == (20, 20, 0, 0)
    hold = found.batches[0].hold
    assert hold is not None
    assert (hold.reason, hold.until) == (reason, until)


@pytest.mark.parametrize(
    "lines", ["2027-01-20 mould 7a\n2027-01-27 all_clear 7a", "2027-01-25 treated 7a --value copper"]
)
def test_wood_out_of_trouble_is_for_sale_again(lines: str, tmp_path: Path) -> None:
    assert offer(lane(tmp_path, STORED + lines)).free == 20


def test_how_long_a_treated_lot_waits_is_the_growers_to_change(tmp_path: Path) -> None:
    (tmp_path / "rules" / "care").mkdir(parents=True)
    own = '[programme]\nafter_treatment = "21 d"\nholds = ["rot"]\n'
    (tmp_path / "rules" / "care" / "for_sale.toml").write_text(own, encoding="utf-8")

    treated = offer(lane(tmp_path, STORED + "2027-01-15 treated 7a --value copper"))
    mouldy = offer(lane(tmp_path, STORED + "2027-01-15 mould 7a"))

    assert (treated.free, mouldy.free) == (0, 20)


def test_wood_past_its_time_in_store_is_not_sent(tmp_path: Path) -> None:
    log = "2026-10-25 taken 7a --count 20\n2027-02-10 looked 7a\n"  # 16 weeks are over on 14 February
    last = date(2027, 2, 14)

    on_its_last_day = offer(lane(tmp_path, log, today=last))
    after = offer(lane(tmp_path, log, today=last + timedelta(days=1)))

    assert on_its_last_day.free == 20
    assert (after.free, reason(after)) == (0, "past_limit")


def test_late_wood_is_sold_only_if_it_was_looked_at_within_the_week(tmp_path: Path) -> None:
    log = "2026-11-20 taken 7a --count 20\n"  # eight weeks are over on 15 January

    found = [
        offer(lane(tmp_path, log + looks, today=date(2027, 1, day)))
        for looks, day in (("", 14), ("", 15), ("2027-01-15 looked 7a", 22), ("2027-01-15 looked 7a", 23))
    ]

    assert [each.free for each in found] == [20, 0, 20, 0]
    assert [reason(each) for each in found] == ["", "look_first", "", "look_first"]


def test_shrivelled_wood_is_not_sent(tmp_path: Path) -> None:
    assert reason(offer(lane(tmp_path, STORED + "2027-01-20 dry 7a"))) == "dry"


def test_wood_is_not_sold_after_the_weeks_of_the_trade(tmp_path: Path) -> None:
    log = "2027-02-20 taken 7a --count 20"

    assert offer(lane(tmp_path, log, today=date(2027, 2, 28))).free == 20
    assert reason(offer(lane(tmp_path, log, today=date(2027, 3, 1)))) == "season_over"


# --- rooted plants -------------------------------------------------------------------------------------------------


def test_only_plants_logged_as_hardened_are_for_sale(tmp_path: Path) -> None:
    none = offer(lane(tmp_path, PLANTS), "rooted")
    some = offer(lane(tmp_path, PLANTS + "2027-01-10 hardened 7a --count 4"), "rooted")
    every = offer(lane(tmp_path, PLANTS + "2027-01-10 hardened 7a --count 4\n2027-01-20 hardened 7a"), "rooted")

    assert (none.free, some.free, every.free) == (0, 4, 9)


def test_plants_that_leave_are_taken_to_be_hardened_ones_so_that_none_is_offered_twice(tmp_path: Path) -> None:
    log = PLANTS + "2027-01-10 hardened 7a --count 4\n2027-01-12 sold 7a --count 3\n2027-01-14 died 7a --count 3"

    assert offer(lane(tmp_path, log), "rooted").free == 0
    assert offer(lane(tmp_path, log + "\n2027-01-20 hardened 7a --count 2"), "rooted").free == 2


def test_plants_potted_after_the_others_hardened_are_not_hardened(tmp_path: Path) -> None:
    log = """2026-11-01 received 7a --count 8 --stage rooting --bin A
2026-12-20 potted 7a --count 5
2027-01-10 hardened 7a
2027-01-12 potted 7a"""

    assert offer(lane(tmp_path, log), "rooted").free == 5


# --- promised, planned, protected ----------------------------------------------------------------------------------


def test_open_orders_are_reserved_and_shipped_or_cancelled_ones_are_not(tmp_path: Path) -> None:
    nursery = lane(
        tmp_path,
        STORED,
        "1,2027-01-20,7,dormant,6,,,,,",
        "2,2027-01-21,7,dormant,5,,,,2027-01-25,",
        "3,2027-01-21,7,rooted,5,,,,,",
        "1,2027-01-25,7,dormant,2,,,,cancelled,",
    )

    found = offer(nursery)

    assert (found.reserved, found.free, found.short) == (4, 16, 0)
    assert offer(nursery, "rooted").short == 5


def test_a_lot_planned_takes_stored_wood_and_first_what_cannot_be_posted(tmp_path: Path) -> None:
    plan = "2027-01-25 planned 7 --count 12 --value 2027-02-20\n"

    plain = offer(lane(tmp_path, STORED + plan))
    pushing = "2026-12-16 taken 7b --count 9\n2027-01-29 pushing 7b\n2027-01-30 looked 7a\n"
    awake = offer(lane(tmp_path, STORED + pushing + plan))
    too_many = offer(lane(tmp_path, STORED + plan + "2027-01-26 planned 7 --count 12 --value 2027-03-20"))

    assert (plain.planned, plain.free) == (12, 8)
    assert (awake.planned, awake.free) == (3, 17)
    assert (too_many.planned, too_many.free) == (20, 0)


def test_protected_varieties_are_never_for_sale(tmp_path: Path) -> None:
    nursery = lane(tmp_path, "2026-12-15 taken 9a --count 20\n2026-12-15 received 9b --count 3 --stage outside")

    assert [found.variety.number for found in offers(nursery)] == []


def test_a_nursery_offers_what_its_settings_say_it_sells(tmp_path: Path) -> None:
    log = STORED + "2026-12-15 received 8a --count 3 --stage outside\n2027-01-10 hardened 8a"

    assert [found.form for found in offers(lane(tmp_path, log))] == ["dormant", "rooted"]
    assert [found.form for found in offers(lane(tmp_path, log, sale="dormant = false"))] == ["rooted"]


# --- the list for buyers -------------------------------------------------------------------------------------------


def test_the_list_has_the_growers_own_heading_money_contact_and_terms(tmp_path: Path) -> None:
    sale = """heading = "Figs of <Quince> Lane"
place = "Behind the chapel, Saturdays"
contact = "figs@example.org"
currency = "$"
terms = ["Paid on order", "No sale to where the law forbids it"]"""
    varieties = "number,name,crop,source,protected,licence,price_cutting,price_plant\n7,Copper,fig,,yes,L-12,4.50,\n"
    varieties += '8,Blue,fig,,,,"6,00 EUR",\n'
    log = STORED + "2026-12-15 taken 8a --count 3"
    folder = lane(tmp_path, log, sale=sale, varieties=varieties).folder

    found = for_sale(folder, datetime(2027, 2, 1, 17, tzinfo=UTC))
    page, rows = list_of(found, "html"), list(csv.DictReader(list_of(found, "csv").splitlines()))

    for own in ("Figs of &lt;Quince&gt; Lane</h1>", "Behind the chapel", "figs@example.org", "<li>Paid on order</li>"):
        assert own in page
    assert "$4.50" in page
    assert "6,00 EUR" in page
    assert "sold under licence L-12" in page
    assert [(row["price_cutting"], row["currency"]) for row in rows] == [("4.50", "$"), ("6,00 EUR", "$")]


def test_a_protected_variety_is_sold_once_its_licence_is_named_and_not_before(tmp_path: Path) -> None:
    log = "2026-12-15 taken 9a --count 20"
    noon, sold = datetime(2027, 2, 1, 17, tzinfo=UTC), Request(what="sold", about=("9a",), count=2)

    folder = lane(tmp_path / "without", log).folder
    with pytest.raises(Refusal) as refused:
        record(folder, noon, sold)
    licensed = "number,name,crop,source,protected,licence\n9,Tin Whistle,fig,,yes,L-12\n"
    nursery = lane(tmp_path / "with", log, varieties=licensed)

    assert told(refused.value.fact) == (
        "9 (Tin Whistle) is protected: it may not be sold without its owner's leave; with that, name it as licence in "
        "varieties.csv, then log it"
    )
    assert [found.variety.number for found in offers(nursery)] == ["9"]
    assert record(nursery.folder, noon, sold).rows


# --- the day to ship by --------------------------------------------------------------------------------------------


def test_an_order_is_shipped_on_the_last_post_day_before_its_day(tmp_path: Path) -> None:
    # Thursday 25 February 2027; post goes Monday to Wednesday.
    nursery = lane(tmp_path, STORED, "12,2027-01-20,7,dormant,6,2027-02-25,US,VA,,")

    found = task(build_plan(nursery), "order.12")

    assert (found.due, found.latest, found.feed) == (date(2027, 2, 24), date(2027, 2, 24), "sales")
    assert title(found) == "Ship order 12: 6 of no. 7"


def test_an_order_to_be_shipped_before_post_goes_again_is_due_on_the_day_it_came(tmp_path: Path) -> None:
    # Placed on a Thursday, to be shipped by the Friday.
    nursery = lane(tmp_path, STORED, "12,2027-02-04,7,dormant,6,2027-02-05,US,VA,,", today=date(2027, 2, 4))

    assert task(build_plan(nursery), "order.12").due == date(2027, 2, 4)


def test_an_order_not_shipped_in_time_is_overdue_until_it_is(tmp_path: Path) -> None:
    nursery = lane(tmp_path, STORED, "12,2027-01-04,7,dormant,6,2027-01-14,US,VA,,")

    plan = build_plan(nursery)

    assert [each.id for each in plan.overdue() if each.counted_from == "ordered"] == ["order.12"]


@pytest.mark.parametrize(
    ("country", "region", "cautioned"),
    [
        ("US", "OR", True),
        ("CA", "", True),
        ("", "", True),
        ("US", "", True),
        ("US", "VA", False),
        ("usa", "Virginia", False),
    ],
)
def test_quarantine_is_told_unless_the_parcel_surely_stays_in_the_state(
    country: str, region: str, cautioned: bool, tmp_path: Path
) -> None:
    order = f"12,2027-01-20,7,dormant,6,2027-02-25,{country},{region},,"
    nursery = lane(tmp_path, STORED, order, country='US"\nregion = "VA')

    told = text(task(build_plan(nursery), "order.12"), nursery.book, TODAY)

    assert (nursery.book.cautions["borders"].short in told) is cautioned
    assert "allowed" not in told
