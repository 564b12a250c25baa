"""Selling a season's wood and plants: the command line on a nursery of the test's own."""

from __future__ import annotations

import csv
import json
import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar

from tests.command import stickdate
from tests.conftest import Writes

DAY = "2026-02-02"
PAPERS = "Shipping certificate asked for: Oregon. Ask the plant health office at both ends."
WINTER = """
2025-12-15 taken 7a --count 20
2026-01-05 taken 7b --count 10
2025-12-15 taken 1a --count 8
2026-01-20 pushing 1a
2025-12-15 taken 3a --count 9
2025-12-20 received 2a --count 9 --stage outside --value liner
2026-01-25 hardened 2a --count 6
2026-01-30 looked 7a
2026-01-30 looked 3a
"""


def say(folder: Path, *words: str, code: int = 0) -> str:
    done = stickdate("--nursery", folder, "--as-of", DAY, *words, code=code)
    return done.stderr if code else done.stdout


def said(folder: Path, *words: str) -> Any:
    return json.loads(say(folder, *words, "--json"))


def table(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def sold(folder: Path) -> list[tuple[str, str, str]]:
    rows = [row for row in table(folder / "logbook.csv") if row["what"] == "sold"]
    return [(row["lot"], row["count"], row["refers"]) for row in rows]


# --- an order, from the buyer's word to the post -------------------------------------------------------------------


def test_an_order_is_taken_and_what_is_left_is_told(nursery: Writes) -> None:
    folder = nursery(WINTER)

    told = say(folder, "order", "7", "--form", "dormant", "--count", "12", "--country", "US", "--region", "OR")

    assert "Order 1: 12 dormant cuttings of no. 7, to OR, US." in told
    assert "Left to promise: 18 dormant cuttings of no. 7." in told
    assert (folder / "orders.csv").read_text(encoding="utf-8") == (
        "order,date,variety,form,count,ship_by,country,region,done,note\n1,2026-02-02,7,dormant,12,,US,OR,,\n"
    )


def test_shipping_takes_the_oldest_wood_first_and_says_so_in_both_files(nursery: Writes) -> None:
    folder = nursery(WINTER)
    say(folder, "order", "7", "--form", "dormant", "--count", "25")

    told = say(folder, "order", "--ship", "1")

    assert "Order 1: 25 dormant cuttings of no. 7, 25 shipped (2 Feb)." in told
    assert "sold from 7a 20, 7b 5" in told
    assert sold(folder) == [("7a", "20", "1"), ("7b", "5", "1")]
    assert [row["done"] for row in table(folder / "orders.csv")] == ["", DAY]


def test_shipping_takes_plants_that_are_hardened_and_the_lot_that_is_named(nursery: Writes) -> None:
    folder = nursery(WINTER)
    say(folder, "order", "2", "--form", "rooted", "--count", "6")
    say(folder, "order", "7", "--form", "dormant", "--count", "4")

    say(folder, "order", "--ship", "1")
    say(folder, "order", "--ship", "2", "--from", "7b")

    assert sold(folder) == [("2a", "6", "1"), ("7b", "4", "2")]
    lots = {lot["lot"]: lot["counts"] for lot in said(folder, "lots")["lots"]}
    assert lots["2a"]["outside"] == 3


def test_a_part_is_shipped_and_the_rest_stays_open(nursery: Writes) -> None:
    folder = nursery(WINTER)
    say(folder, "order", "7", "--form", "dormant", "--count", "25")

    part = said(folder, "order", "--ship", "1", "--count", "10")
    rest = said(folder, "order", "--ship", "1")
    again = said(folder, "order", "--ship", "1")

    assert (part["order"]["open"], part["order"]["shipped"]) == (15, 10)
    assert (rest["order"]["open"], rest["order"]["shipped"]) == (0, 25)
    assert again["sold"] == []
    assert sum(int(count) for _, count, _ in sold(folder)) == 25


def test_undoing_a_shipment_opens_its_order_again(nursery: Writes) -> None:
    folder = nursery(WINTER)
    say(folder, "order", "7", "--form", "dormant", "--count", "25")
    say(folder, "order", "--ship", "1")

    told = say(folder, "undo")

    assert "Order 1: 25 dormant cuttings of no. 7." in told
    assert said(folder, "order")["orders"][0]["open"] == 25
    assert [row["done"] for row in table(folder / "orders.csv")] == ["", DAY, "reopened"]
    say(folder, "order", "--ship", "1")
    assert said(folder, "order", "--all")["orders"][0]["shipped"] == 25


def test_a_shipment_undone_by_mistake_counts_again_unless_the_order_was_sent_since(nursery: Writes) -> None:
    folder = nursery(WINTER)
    say(folder, "order", "7", "--form", "dormant", "--count", "4")
    say(folder, "order", "--ship", "1")
    undone = said(folder, "undo")["row"]["id"]

    say(folder, "undo", undone)
    shipped = said(folder, "order", "--all")["orders"][0]
    again = said(folder, "undo")["row"]["id"]
    say(folder, "order", "--ship", "1", "--count", "3")

    assert (shipped["open"], shipped["shipped"]) == (0, 4)
    assert "order 1 has 1 open; 4 cannot be sold for it" in say(folder, "undo", again, code=1)


def test_a_cancelled_order_frees_what_it_promised(nursery: Writes) -> None:
    folder = nursery(WINTER)
    say(folder, "order", "7", "--form", "dormant", "--count", "25")
    say(folder, "order", "--ship", "1", "--count", "5")

    told = say(folder, "order", "--cancel", "1")

    assert "Order 1: 25 dormant cuttings of no. 7, 5 shipped (2 Feb), 20 cancelled." in told
    assert "Left to promise: 25 dormant cuttings of no. 7." in told
    assert "nothing open" in say(folder, "order", "--ship", "1", code=1)


# --- nothing is promised twice -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (
            ("7", "--form", "dormant", "--count", "31"),
            "30 dormant cuttings of no. 7 can be promised (30 there), not 31; see stickdate forsale",
        ),
        (
            ("1", "--form", "dormant", "--count", "1"),
            "no dormant cuttings of no. 1 can be promised (8 there and 8 held back), not 1; see stickdate forsale",
        ),
        (
            ("2", "--form", "rooted", "--count", "7"),
            "6 rooted plants of no. 2 can be promised (6 there), not 7; see stickdate forsale",
        ),
        (
            ("3", "--form", "dormant", "--count", "1"),
            "3 (Guarded one) is protected: it may not be sold without its owner's leave, so it cannot be ordered; "
            "with that, name it as licence in varieties.csv",
        ),
        (("5", "--form", "rooted", "--count", "1"), "variety '5' is not in varieties.csv; expected 1 | 2 | 3 | 7"),
        (("7", "--form", "rotted", "--count", "1"), "'rotted' is not a form; did you mean 'rooted'?"),
        (
            ("7", "--form", "dormant", "--count", "1", "--ship-by", "2/9/2026"),
            "--ship-by '2/9/2026' is not a date; write it like 2026-02-24",
        ),
        (
            ("7", "--form", "dormant", "--count", "1", "--ship-by", "2026-01-09"),
            "--ship-by 2026-01-09 is before 2026-02-02; an order is shipped after it is placed",
        ),
        (("--ship", "4"), "there is no order '4'; see stickdate order"),
    ],
)
def test_what_cannot_be_promised_is_refused_in_one_line_and_nothing_is_written(
    words: tuple[str, ...], line: str, nursery: Writes
) -> None:
    folder = nursery(WINTER)

    told = say(folder, "order", *words, code=1)

    assert told == f"stickdate: {line}\n"
    assert not (folder / "orders.csv").exists()


@pytest.mark.parametrize(
    "words", [("sold", "7a", "--count", "11"), ("stuck", "7a", "--count", "11"), ("gave", "7b", "--count", "10")]
)
def test_what_is_promised_is_not_given_away_unless_the_grower_insists(words: tuple[str, ...], nursery: Writes) -> None:
    folder = nursery(WINTER)
    say(folder, "order", "7", "--form", "dormant", "--count", "21")

    refused = say(folder, "log", *words, code=1)
    forced = say(folder, "log", *words, "--force")

    assert "21 dormant cuttings of no. 7 are promised (order 1)" in refused
    assert "add --force" in refused
    assert "too few; cancel an order" in " ".join(forced.split())


def test_what_befalls_promised_wood_is_logged_and_told(nursery: Writes) -> None:
    folder = nursery(WINTER)
    say(folder, "order", "7", "--form", "dormant", "--count", "25")

    told = said(folder, "log", "died", "7a", "--count", "8", "--value", "rot")

    assert [(each["number"], each["short"]) for each in told["short"]] == [("7", 3)]
    assert "3 too few" in " ".join(say(folder, "forsale").split())
    refused = say(folder, "order", "--ship", "1", code=1)
    assert "order 1 wants 25 dormant cuttings of no. 7 and 22 can be sent; a part of it: --count 22" in refused


def test_a_lot_with_swelling_buds_is_not_shipped_and_the_reason_is_told(nursery: Writes) -> None:
    folder = nursery(WINTER)
    say(folder, "order", "7", "--form", "dormant", "--count", "25")
    say(folder, "log", "pushing", "7a")

    refused = say(folder, "order", "--ship", "1", code=1)
    named = say(folder, "order", "--ship", "1", "--from", "7a", code=1)

    for told in (refused, named):
        assert "7a: buds swelling since 2 Feb" in told
    assert sold(folder) == []


def test_a_sale_can_be_logged_for_an_order_and_must_fit_it(nursery: Writes) -> None:
    folder = nursery(WINTER)
    say(folder, "order", "7", "--form", "dormant", "--count", "5")

    wrong = say(folder, "log", "sold", "2a", "--count", "1", "--refers", "1", code=1)
    more = say(folder, "log", "sold", "7b", "--count", "6", "--refers", "1", code=1)
    told = say(folder, "log", "sold", "7b", "--count", "5", "--refers", "1")

    assert "order 1 is for number 7, and 2a is of 2" in wrong
    assert "order 1 has 5 open; 6 cannot be sold for it" in more
    assert "Order 1: 5 dormant cuttings of no. 7, 5 shipped (2 Feb)." in told
    assert [row["done"] for row in table(folder / "orders.csv")] == ["", DAY]


def test_a_variety_protected_after_it_was_ordered_is_not_shipped(nursery: Writes) -> None:
    folder = nursery(WINTER)
    say(folder, "order", "7", "--form", "dormant", "--count", "5", "--ship-by", "2026-02-20")
    path = folder / "varieties.csv"
    path.write_text(path.read_text(encoding="utf-8").replace("7,Late one,fig,swap,,", "7,Late one,fig,swap,yes,"))

    told = say(folder, "check")
    refused = say(folder, "order", "--ship", "1", code=1)

    assert "order 1 is for 7, which is protected and not to be sold" in told
    assert "protected" in refused
    assert "Ship order" not in say(folder, "today", "--days", "30")


# --- the calendar --------------------------------------------------------------------------------------------------


def test_the_day_to_ship_by_is_in_the_calendar_of_sales_until_it_is_shipped(nursery: Writes) -> None:
    folder = nursery(WINTER)
    say(folder, "calendar")

    order = ("order", "7", "--form", "dormant", "--count", "5", "--ship-by", "2026-02-20", "--country", "CA")
    told = say(folder, *order)
    entries = ship_entries(folder)
    say(folder, "order", "--ship", "1")

    assert "New:\n  Ship order 1: 5 of no. 7  Wed 18 Feb" in told
    [entry] = entries
    assert entry["summary"] == "Ship order 1: 5 of no. 7"
    assert entry["dtstart"].dt.isoformat() == "2026-02-18"  # the last post day, a Wednesday
    description = str(entry["description"]).replace("\n", " ")
    assert "ask about quarantine" in description
    assert "stickdate order --ship 1" in description
    assert ship_entries(folder) == []


def ship_entries(folder: Path) -> list[Any]:
    calendar = Calendar.from_ical((folder / "calendar" / "sales.ics").read_bytes())
    return [entry for entry in calendar.walk("VEVENT") if "Ship order" in str(entry["summary"])]


# --- what have I to sell -------------------------------------------------------------------------------------------


def test_forsale_answers_in_the_first_screenful(nursery: Writes) -> None:
    folder = nursery(WINTER)
    say(folder, "order", "7", "--form", "dormant", "--count", "12", "--ship-by", "2026-02-20")

    lines = say(folder, "forsale").splitlines()

    assert len(lines) <= 24
    assert all(len(line) <= 80 for line in lines)
    told = {line.split()[0]: " ".join(line.split()) for line in lines if line[:3].strip().isdigit()}
    assert told["7"] == "7 Late one 18 5 4-7 wk " + told["7"].split(" wk ")[1]
    assert "12 promised" in told["7"]
    assert any("buds swelling since 20 Jan" in line for line in lines)
    assert any("12 dormant cuttings of no. 7" in line and "by Fri 20 Feb" in line for line in lines)
    assert not any("Guarded" in line for line in lines)


def test_forsale_as_json(nursery: Writes) -> None:
    folder = nursery(WINTER)
    say(folder, "order", "7", "--form", "dormant", "--count", "12")

    found = said(folder, "forsale")

    assert found.keys() >= {"as_of", "for_sale", "orders", "written"}
    by_kind = {(each["number"], each["form"]): each for each in found["for_sale"]}
    assert by_kind.keys() == {("1", "dormant"), ("2", "rooted"), ("7", "dormant")}
    seven = by_kind["7", "dormant"]
    assert (seven["free"], seven["there"], seven["reserved"], seven["price"]) == (18, 30, 12, "5")
    assert [(lot["lot"], lot["count"], lot["weeks"]) for lot in seven["lots"]] == [("7a", 20, 7), ("7b", 10, 4)]
    assert by_kind["1", "dormant"]["lots"][0]["held"] == {"reason": "pushing", "since": "2026-01-20", "until": None}
    assert found["orders"][0].keys() >= {"order", "date", "number", "form", "count", "open", "shipped", "ship_by"}


class Words(HTMLParser):
    """What a reader of a page sees, and whatever it would fetch."""

    def __init__(self) -> None:
        super().__init__()
        self.seen: list[str] = []
        self.fetched: list[str] = []
        self.tags: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.fetched += [value or "" for name, value in attrs if name in ("src", "href", "srcset")]

    def handle_data(self, data: str) -> None:
        self.seen.append(data)


def test_the_page_for_buyers_stands_alone_and_tells_what_is_free_and_nothing_else(nursery: Writes) -> None:
    varieties = """number,name,crop,source,protected,price_cutting,price_plant,note
1,Plain one,fig,own,,4,14,
2,<script>alert('x')</script> & "sons",fig,own,,4,14,a secret
3,Guarded one,fig,trade,yes,9,9,
7,Late one,fig,a friend,,5,16,
"""
    folder = nursery(WINTER, varieties=varieties)
    say(folder, "order", "7", "--form", "dormant", "--count", "12")

    say(folder, "forsale", "--html", str(folder / "list.html"))
    page = (folder / "list.html").read_text(encoding="utf-8")
    words = Words()
    words.feed(page)
    told = " ".join(" ".join(words.seen).split())

    assert words.fetched == []
    assert "script" not in words.tags
    assert "url(" not in page
    assert "<script>alert('x')</script> & \"sons\"" in told
    assert "2 February 2026" in told
    assert "Counts change" in told
    assert re.search(r"7 Late one Fig 18 5", told)
    for secret in ("Guarded", "secret", "friend", "7a", "swelling", "promised", "Plain one"):
        assert secret not in told  # of number 1 all is held back


def test_the_table_for_buyers_holds_one_line_a_variety_that_no_spreadsheet_runs(nursery: Writes) -> None:
    varieties = """number,name,crop,source,protected,price_cutting,price_plant,note
1,Plain one,fig,own,,4,14,
2,=1+1,fig,own,,4,14,
3,Guarded one,fig,trade,yes,9,9,
7,Late one,fig,own,,5,16,
"""
    folder = nursery(WINTER, varieties=varieties)

    told = say(folder, "forsale", "--csv", str(folder / "list.csv"))

    assert "Written: " in told
    assert table(folder / "list.csv") == [
        {
            "number": "2",
            "name": "'=1+1",
            "crop": "Fig",
            "dormant_cuttings": "0",
            "price_cutting": "",
            "rooted_plants": "6",
            "price_plant": "14",
            "as_of": DAY,
            "law": PAPERS,
            "currency": "",
        },
        {
            "number": "7",
            "name": "Late one",
            "crop": "Fig",
            "dormant_cuttings": "30",
            "price_cutting": "5",
            "rooted_plants": "0",
            "price_plant": "",
            "as_of": DAY,
            "law": PAPERS,
            "currency": "",
        },
    ]


def test_a_list_for_buyers_replaces_only_an_older_one(nursery: Writes) -> None:
    folder = nursery(WINTER)
    before = (folder / "logbook.csv").read_bytes()

    refused = say(folder, "forsale", "--csv", str(folder / "logbook.csv"), code=1)
    for _ in range(2):
        say(folder, "forsale", "--csv", str(folder / "list.csv"), "--html", str(folder / "list.html"))

    assert "is not a list for buyers that this program wrote" in refused
    assert (folder / "logbook.csv").read_bytes() == before


def test_an_empty_nursery_says_what_is_missing(nursery: Writes) -> None:
    told = say(nursery(""), "forsale")

    assert "None in store." in told
    assert "stickdate log hardened LOT" in told
    assert "No order is open." in told
