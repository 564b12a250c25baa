"""The account of dormant wood: what a grower sees of a lot from its cutting to the day it is accounted for."""

from __future__ import annotations

import random
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from almanac.actions.record import record
from almanac.actions.request import Request
from almanac.actions.rules import rulebook
from almanac.actions.wood import wood_of
from almanac.faults import InputFaults, Refusal
from almanac.nursery.load import load_nursery
from almanac.nursery.nursery import Nursery
from almanac.plan.wood.account import account_of, stored
from almanac.plan.wood.cuts import Taking
from almanac.plan.wood.forsale import offers
from almanac.plan.wood.season import season_of
from almanac.plan.wood.sticking import sticking_in
from almanac.site.nights import Nights
from almanac.words.lots import status
from tests.command import stickdate
from tests.journeys.year import EVERYWHERE
from tests.nurseries import Parts, bench, write_nursery
from tests.unit.given import has_task, moved, of_rule, planned, task
from tests.unit.test_season_everywhere import PLACES

# Two winters: 7a is of the one before, 7b and 7c of this one.
WINTERS = """2025-12-01 taken 7a --count 20
2026-11-25 taken 7b --count 4
2026-12-20 taken 7c --count 12
"""
EIGHT = "number,name,crop,source,protected\n" + "".join(
    f"{number},Plant {number},{crop},,\n"
    for number, crop in enumerate(
        ("black_currant", "elderberry", "fig", "grape", "mulberry", "pomegranate", "rose", "willow"), 1
    )
)


def stuck(folder: Path, today: date, log: str, *about: str, count: int | None = None) -> list[tuple[str, int | None]]:
    """The lots that sticking takes from, and how many of each."""
    write_nursery(folder, log)
    done = record(
        folder, datetime.combine(today, time(17), UTC), Request(what="stuck", about=about, count=count, bin="A")
    )
    return [(row.lot, row.count) for row in done.rows if row.what == "stuck"]


# --- which wood is stuck where a number alone is said --------------------------------------------------------------


def test_a_number_alone_means_wood_of_this_winter_and_not_of_an_old_one(tmp_path: Path) -> None:
    assert stuck(tmp_path, date(2027, 1, 5), WINTERS, "7", count=4) == [("7b", 4)]


def test_where_one_lot_does_not_suffice_several_are_taken_and_each_has_its_row(tmp_path: Path) -> None:
    assert stuck(tmp_path, date(2027, 1, 5), WINTERS, "7", count=10) == [("7b", 4), ("7c", 6)]


def test_wood_with_swelling_buds_or_mould_comes_after_sound_wood(tmp_path: Path) -> None:
    log = WINTERS + "2027-01-03 pushing 7b\n2027-01-03 taken 7d --count 2\n2027-01-04 mould 7d\n"

    assert stuck(tmp_path, date(2027, 1, 5), log, "7", count=18) == [("7c", 12), ("7b", 4), ("7d", 2)]


def test_more_than_this_winters_wood_is_refused_with_what_there_is(tmp_path: Path) -> None:
    with pytest.raises(Refusal) as refused:
        stuck(tmp_path, date(2027, 1, 5), WINTERS, "7", count=17)

    assert refused.value.fact.kind == "too_few_of_number"
    assert dict(refused.value.fact.given)["there"] == 16


def test_wood_past_its_range_is_stuck_only_when_its_lot_is_named(tmp_path: Path) -> None:
    old = WINTERS.splitlines()[0]
    with pytest.raises(Refusal) as refused:
        stuck(tmp_path, date(2027, 1, 5), old, "7", count=4)

    assert refused.value.fact.kind == "only_old_wood"
    assert stuck(tmp_path, date(2027, 1, 5), old, "7a", count=4)[0][1] == 4


def test_a_lot_planned_is_settled_by_wood_of_several_lots(tmp_path: Path) -> None:
    write_nursery(tmp_path, WINTERS + "2026-12-21 planned 7 --count 14 --value 2027-01-05")
    now = datetime(2027, 1, 5, 17, tzinfo=UTC)

    done = record(tmp_path, now, Request(what="stuck", about=("7",), count=14, bin="A", refers="r4"))

    assert [(row.lot, row.count) for row in done.rows if row.what == "stuck"] == [("7b", 4), ("7c", 10)]
    assert not load_nursery(tmp_path, now).stock.planned


# --- nothing in store is forgotten, and no old winter lingers ------------------------------------------------------


def test_wood_past_its_time_is_asked_for_once_a_fortnight_until_it_is_accounted_for(tmp_path: Path) -> None:
    log = "2026-10-25 taken 7a --count 20\n"  # 16 weeks are over on 14 February 2027
    asked = set()
    for number in range(0, 60, 3):
        plan = planned(bench(tmp_path, log, date(2027, 2, 10) + timedelta(days=number)))
        asked |= {each.due for each in plan.tasks if each.rule.id in ("store_limit", "store_past")}

    assert sorted(asked) == [date(2027, 2, 14) + timedelta(days=14 * turn) for turn in range(5)]
    gone = planned(bench(tmp_path, log + "2027-03-01 died 7a --stage store --count 20", date(2027, 3, 2)))
    assert not has_task(gone, "7a.store_past.2")


def test_lots_says_that_wood_is_past_its_time(tmp_path: Path) -> None:
    write_nursery(tmp_path, "2022-12-03 taken 7a --count 20\n")

    told = stickdate("--nursery", tmp_path, "--as-of", "2023-12-03", "lots").stdout

    assert "past its time" in told
    assert "on time" not in told
    assert "look, stick or throw" in " ".join(told.split())


def test_old_wood_does_not_stand_for_the_new_winters_sale(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, "2025-12-15 taken 7a --count 20", date(2026, 11, 1)))

    [offer] = of_rule(plan, "offer")
    assert (offer.id, offer.lots) == ("fig.offer.2026", ())


def test_late_wood_is_looked_at_weekly(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, "2026-11-20 taken 7a --count 20", date(2027, 1, 20)))

    late = [each for each in plan.rounds for line in each.lines if line.id == "7a.store_look_late"]
    assert len(late) > 3
    assert max((b.day - a.day).days for a, b in pairwise(late)) <= 7


# --- one account on every screen -----------------------------------------------------------------------------------


def test_fig_cut_in_october_in_a_cold_place_is_sold_into_the_sale(tmp_path: Path) -> None:
    # Common practice: growers of cold places sell all winter; fig keeps 8 to 16 weeks.
    log = "2026-10-25 taken 7a --count 20\n2027-01-10 looked 7a"
    wood = account_of(nursery := bench(tmp_path, log, date(2027, 1, 10))).of_lot(nursery.stock.lots["7a"])

    assert wood.opens == date(2027, 1, 1)
    assert date(2027, 1, 15) <= wood.closes <= date(2027, 2, 14)


def test_buds_swell_sooner_in_a_warm_store_and_later_in_a_cold_one(tmp_path: Path) -> None:
    log = "2026-12-01 taken 7a --count 12"

    def swells(store: str) -> date:
        nursery = bench(tmp_path, log, date(2027, 1, 10), store=store)
        found = account_of(nursery).of_lot(nursery.stock.lots["7a"]).swells
        assert found
        return found[1]

    # In the middle of the 34-40 F that fig wood is kept at a day counts as one.
    assert swells('temperature = "37 F"') == swells("")
    assert swells('temperature = "44 F"') < swells("") < swells('temperature = "33 F"')


def test_swelling_buds_end_the_sale_the_day_they_are_seen_and_the_stick_days_with_it(tmp_path: Path) -> None:
    log = "2026-11-20 taken 7a --count 20\n2027-01-05 pushing 7a"
    plan = planned(nursery := bench(tmp_path, log, date(2027, 1, 5)))
    wood = account_of(nursery).of_lot(nursery.stock.lots["7a"])

    assert (wood.closes, wood.sale_ended_by) == (date(2027, 1, 4), "swollen")
    assert not of_rule(plan, "offer")
    found = task(plan, "fig.stick_wood.2026")
    assert (found.due, found.latest) == (date(2027, 1, 5), date(2027, 1, 12))


def test_the_last_post_is_the_same_post_day_on_every_screen(tmp_path: Path) -> None:
    folder = write_nursery(tmp_path, "2025-12-20 taken 7a --count 20\n2026-02-14 looked 7a")
    said = {
        command: stickdate("--nursery", folder, "--as-of", "2026-02-15", *command.split()).stdout
        for command in ("season", "today --days 14 --ids", "why 7a.last_post")
    }

    # The sale ends on Saturday 28 February 2026; post goes from Monday to Wednesday.
    [line] = [line for line in said["today --days 14 --ids"].splitlines() if "last_post" in line]
    assert "by 25 Feb" in line
    assert "Wed 25 Feb" in said["why 7a.last_post"]
    assert "last post Wed 25 Feb" in " ".join(said["season"].split())


def test_the_season_of_eight_crops_is_one_aligned_table_on_the_first_screen(tmp_path: Path) -> None:
    folder = write_nursery(tmp_path, "", varieties=EIGHT)

    lines = stickdate("--nursery", folder, "--as-of", "2026-11-20", "season").stdout.splitlines()

    head = lines[2]
    rows = lines[3:11]
    assert all(len(line) <= 80 for line in lines)
    assert len(rows) == 8
    for title in ("Take wood", "Sell dormant", "Last post", "Stick", "Best"):
        column = head.index(title)
        assert all(row[column - 2 : column] == "  " and row[column] != " " for row in rows), title


# --- whatever is logged, wherever: one truth -----------------------------------------------------------------------


def holds_together(nursery: Nursery) -> None:
    """Commands and entries agree about every lot of wood, and none is without an entry."""
    plan, account, as_of = planned(nursery), account_of(nursery), nursery.as_of
    offered = {own.lots[0]: own for each in of_rule(plan, "offer") for own in each.own if own.lots}
    posted = {own.lots[0]: own for each in of_rule(plan, "last_post") for own in each.own if own.lots}
    batches = [batch for offer in offers(nursery) for batch in offer.batches if batch.wood]
    free = {batch.lot for batch in batches if not batch.hold}
    held = {batch.lot: batch.hold.reason for batch in batches if batch.hold}
    for lot in (lot for lot in nursery.stock.lots.values() if lot.count("store")):
        wood = account.of_lot(lot)
        assert {"store_limit", "store_past"} & {each.rule.id for each in plan.tasks if lot.id in each.lots}
        assert (status(lot, plan) == "past its time") == (as_of > wood.until)
        if lot.id in free:
            assert (offered[lot.id].earliest, offered[lot.id].latest) == (wood.opens, wood.closes)
            assert wood.opens <= wood.closes >= as_of
        elif not lot.protected:
            ended = held[lot.id] in ("pushing", "past_limit", "season_over", "buds_likely")
            assert ended == (lot.id not in offered), held
    plan_of_wood = wood_of(nursery)
    kept = [each for cut in plan_of_wood.cuts for each in cut.kept]
    assert all(each.uses.total == (0 if each.wood.past(as_of) else each.wood.count) for each in kept)
    assert {each.wood.lot for each in kept} | {old.lot for old in plan_of_wood.older} == {
        lot.id for lot in nursery.stock.lots.values() if stored(lot)
    }
    for each in of_rule(plan, "take_wood"):
        assert isinstance(each.derivation, Taking)
        if each.step == str(plan_of_wood.middle.year):
            cuts = [cut for cut in plan_of_wood.cuts if cut.crop == each.crop and cut.left]
            open_now = [cut for cut in cuts if cut.open_on(as_of)]
            every = tuple(cut.number for cut in plan_of_wood.cuts if cut.crop == each.crop)
            assert (each.derivation.left or every) == tuple(cut.number for cut in open_now)
            assert each.latest == min(cut.days[2] for cut in open_now)
    for cut in plan_of_wood.cuts:
        stick, sold = sticking_in(account, cut.collect), account.on_plant(cut.crop, cut.collect.middle, (cut.number,))
        some = stick.hindered or cut.days[2] <= max(stick.latest, sold.closes, cut.collect.opens)
        assert some, "wood is taken that can neither be stuck in time nor sold"
    for name, own in posted.items():
        assert account.post.goes(own.latest)
        assert own.latest <= offered[name].latest
    for each in plan.tasks:
        assert each.earliest <= each.latest, each.id
    reading = [
        season_of(crop, account.outdoors.winter_near(as_of), account, nursery.stock.lots.values())
        for crop in {each.crop for each in nursery.varieties.values()}
    ]
    for season in reading:
        sale = season.sale()
        assert (sale is None and (season.hindered or season.store)) or (sale and sale[0] <= sale[1])
        for here in season.store:
            mine = posted.get(here.wood.lot)
            assert here.last_post == (mine.latest if mine else here.last_post)


def made_up(chance: random.Random, south: bool) -> tuple[str, date]:
    """A logbook of wood over two winters, and a day to look at it."""
    lines: list[tuple[date, str]] = []
    for number in range(1, chance.randint(2, 7)):
        cut = date(2025, 10, 1) + timedelta(days=chance.randint(20, 160) + 365 * chance.randint(0, 1) + 182 * south)
        lines.append((cut, f"taken {chance.randint(1, 3)}{'abcdefgh'[number]} --count {chance.randint(1, 30)}"))
        lot, day_ = lines[-1][1].split()[1], cut
        for what in chance.choices(
            ("looked", "mould", "all_clear", "dry", "pushing", "stuck", "sold", "died"), (9, 1, 1, 1, 1, 2, 2, 1), k=4
        ):
            day_ += timedelta(days=chance.randint(3, 50))
            some = {
                "stuck": " --count 1 --bin A",
                "sold": " --stage store --count 1",
                "died": " --stage store --count 1",
            }
            lines.append((day_, f"{what} {lot}{some.get(what, '')}"))
    day_ = date(2025, 10, 1) + timedelta(days=chance.randint(60, 240) + 365 * chance.randint(0, 1) + 182 * south)
    return "\n".join(f"{when} {what}" for when, what in sorted(lines) if when <= day_), day_


CROPS = sorted(rulebook(None).crops)


def grown(chance: random.Random) -> Parts:
    """Three varieties of any crops, some wanted so many times, some with a mother plant under shelter."""
    lines = [f"{number},Plain,{chance.choice(CROPS)},,,{chance.choice(('', '12', '40'))}" for number in (1, 2, 3)]
    mothers = [
        f'variety = "{number}"\nsheltered = {chance.choice(("true", "false"))}'
        for number in (1, 2, 3)
        if chance.random() < 0.5
    ]
    return Parts(varieties="\n".join(["number,name,crop,source,protected,wanted", *lines, ""]), mothers=mothers)


@pytest.mark.parametrize(("name", "latitude", "nights"), PLACES if EVERYWHERE else PLACES[::9])
def test_commands_and_entries_never_disagree_about_a_lot_of_wood(
    name: str, latitude: float, nights: Nights, tmp_path: Path
) -> None:
    chance = random.Random(name)
    for turn in range(5):
        log, as_of = made_up(chance, latitude < 0)
        try:
            nursery = bench(tmp_path / str(turn), log, as_of, **(Parts(bags=200) | grown(chance)))
        except InputFaults:
            continue  # more left a lot than it had
        holds_together(moved(nursery, latitude, nights, as_of))
