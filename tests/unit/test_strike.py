"""What must hold of strike rates: which cuttings are in the sum, when a lot is settled, what lots teach one another."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from almanac.actions.strike import asked_for, strike_table
from almanac.forecast.outcomes import Counted, Outcome, Told, held_back, outcomes
from almanac.forecast.shares import chance_of, how_many
from almanac.forecast.strike import Rate, RatePart, Shares, parts, rates, sticking
from almanac.nursery.events import EVENTS, STAGES
from almanac.nursery.logbook import Row
from almanac.nursery.lots import Stock
from almanac.rulebook.models import Strike
from almanac.site.freeze_year import FreezeYear
from almanac.words.dates import winter
from tests.nurseries import bench
from tests.sizes import examples
from tests.unit.test_replay import START, replayed

TODAY = date(2027, 11, 1)
RULE = Strike(rooted=0.6, finished=0.5, concentration=6.0, source="invented")
STUCK = "2026-12-01 taken 7 --count 12\n2027-01-05 stuck 7a --bin A\n"
season_of = FreezeYear(southern=False).start


def found(folder: Path, log: str) -> dict[str, Outcome]:
    """Outcomes by the first of their lots."""
    return {each.lots[0]: each for each in outcomes(bench(folder, log, TODAY).stock.lots)}


def rooted(known: Iterable[Outcome]) -> Rate:
    """What is believed of the share that roots, by the rule and these."""
    return Shares(Told.by(known), RULE).rooted


def counts(each: Outcome) -> dict[str, int]:
    """Those that are not 0."""
    names = ("taken", "missing", "dead", "rooting", "rooted", "in_pots", "finished")
    return {name: getattr(each, name) for name in names if getattr(each, name)}


def settled(each: Outcome) -> tuple[bool, bool]:
    return each.settled("rooted"), each.settled("finished")


# --- what counts as what -------------------------------------------------------------------------------------------


def test_cuttings_in_store_and_plants_that_came_in_potted_are_not_in_the_sum(tmp_path: Path) -> None:
    log = """
2026-12-01 taken 7 --count 12
2026-12-20 sold 7a --count 3
2026-12-20 received 8 --count 4 --stage pot
2027-05-01 outside 8a
"""
    assert found(tmp_path, log) == {}


@pytest.mark.parametrize(
    ("later", "told", "is_settled"),
    [
        ("", {"rooting": 12}, (False, False)),
        ("2027-03-01 potted 7a --count 8", {"rooting": 4, "rooted": 8, "in_pots": 8}, (False, False)),
        ("2027-03-01 potted 7a", {"rooted": 12, "in_pots": 12}, (True, False)),
        ("2027-03-01 died 7a --count 12 --value rot", {"dead": 12}, (True, True)),
        ("2027-03-01 potted 7a\n2027-05-01 outside 7a", {"rooted": 12, "finished": 12}, (True, True)),
        ("2027-03-01 potted 7a\n2027-05-01 hardened 7a", {"rooted": 12, "finished": 12}, (True, True)),
        ("2027-03-01 potted 7a\n2027-05-01 sold 7a --count 12", {"rooted": 12, "finished": 12}, (True, True)),
        ("2027-03-01 potted 7a\n2027-05-01 died 7a --count 12", {"rooted": 12}, (True, True)),
        ("2027-03-01 sold 7a --count 5", {"taken": 5, "rooting": 7}, (False, False)),
        ("2027-03-01 kept 7a --count 12", {"taken": 12}, (True, True)),
    ],
)
def test_rooted_is_potted_and_finished_is_ready_to_plant_or_sell(
    tmp_path: Path, later: str, told: dict[str, int], is_settled: tuple[bool, bool]
) -> None:
    each = found(tmp_path, STUCK + later)["7a"]

    assert counts(each) == told
    assert settled(each) == is_settled
    assert each.stuck == 12


def test_cuttings_sold_from_the_bag_leave_the_sum_and_do_not_keep_a_lot_open(tmp_path: Path) -> None:
    each = found(tmp_path, f"{STUCK}2027-02-01 sold 7a --count 2\n2027-03-01 potted 7a --count 9\n2027-03-02 died 7a "
                 "--count 1 --stage rooting")["7a"]  # fmt: skip

    assert (each.struck("rooted"), each.of, each.settled("rooted")) == (9, 10, True)


def test_a_restuck_cutting_counts_once_for_the_lot_it_came_from(tmp_path: Path) -> None:
    log = f"""{STUCK}
2027-02-01 restuck 7a --count 5
2027-02-20 died 7a --count 7
2027-04-01 potted 7b --count 3
2027-04-02 died 7b --count 2 --stage rooting
"""
    only = found(tmp_path, log)

    assert list(only) == ["7a"]
    assert (only["7a"].lots, only["7a"].stuck_on) == (("7a", "7b"), date(2027, 1, 5))
    assert (only["7a"].struck("rooted"), only["7a"].of) == (3, 12)


def test_a_lot_stays_open_while_cuttings_restuck_from_it_may_still_root(tmp_path: Path) -> None:
    each = found(tmp_path, f"{STUCK}2027-02-01 restuck 7a --count 5\n2027-02-20 died 7a --count 7")["7a"]

    assert counts(each) == {"dead": 7, "rooting": 5}
    assert settled(each) == (False, False)


def test_what_was_potted_and_then_restuck_has_rooted_once(tmp_path: Path) -> None:
    log = f"{STUCK}2027-03-01 potted 7a\n2027-03-20 restuck 7a --count 4\n2027-05-01 potted 7b --count 4"

    assert counts(found(tmp_path, log)["7a"]) == {"rooted": 12, "in_pots": 12}


def test_lots_put_together_are_one_lot_with_the_losses_of_both(tmp_path: Path) -> None:
    log = """
2026-12-01 taken 7 --count 12
2027-01-05 stuck 7a --count 6 --bin A
2027-01-05 stuck 7a --bin A
2027-02-01 died 7b --count 4
2027-02-02 joined 7b --refers 7a
2027-03-01 potted 7a
"""
    only = found(tmp_path, log)

    assert {name: (each.lots, each.struck("rooted"), each.of) for name, each in only.items()} == {
        "7a": (("7a", "7b"), 8, 12)
    }


def test_what_a_stocktake_misses_leaves_the_sum_and_what_it_finds_is_in_it(tmp_path: Path) -> None:
    missed = found(tmp_path, f"{STUCK}2027-02-01 counted 7a --count 10 --note slip")["7a"]
    more = found(tmp_path, f"{STUCK}2027-02-01 counted 7a --count 13 --note slip")["7a"]
    back = found(tmp_path, f"{STUCK}2027-02-01 counted 7a --count 10 --note slip\n2027-02-05 counted 7a --count 12 "
                 "--note found")["7a"]  # fmt: skip

    assert (counts(missed), missed.stuck) == ({"rooting": 10, "missing": 2}, 12)
    assert (counts(more), more.stuck) == ({"rooting": 13}, 13)
    assert (counts(back), back.stuck) == ({"rooting": 12}, 12)


def test_sticks_cut_up_in_the_bag_are_more_cuttings_stuck(tmp_path: Path) -> None:
    assert found(tmp_path, f"{STUCK}2027-01-06 cut_up 7a --count 20")["7a"].stuck == 20


def test_cuttings_put_back_into_store_stay_open_and_stuck_again_with_others_make_a_lot_of_their_own(
    tmp_path: Path,
) -> None:
    back = f"{STUCK}2027-02-01 stored 7a --count 4\n2027-02-10 died 7a --count 8 --stage rooting\n"

    stored = found(tmp_path, back)["7a"]
    sold = found(tmp_path, f"{back}2027-02-20 sold 7a --count 4")["7a"]
    split = found(tmp_path, f"{back}2027-02-20 stuck 7a --count 3 --bin A")

    assert counts(stored) == {"dead": 8, "rooting": 4}
    assert counts(sold) == {"dead": 8, "taken": 4}
    assert {name: counts(each) for name, each in split.items()} == {
        "7a": {"dead": 8, "rooting": 1},
        "7b": {"rooting": 3},
    }


def test_plants_once_ready_stay_finished_when_they_are_brought_in_or_lost(tmp_path: Path) -> None:
    out = f"{STUCK}2027-03-01 potted 7a\n2027-05-01 outside 7a --count 8\n"

    inside = found(tmp_path, f"{out}2027-10-20 brought_in 7a --stage outside\n2027-10-25 died 7a --count 12")["7a"]
    lost = found(tmp_path, f"{out}2027-06-01 died 7a --count 8 --stage outside")["7a"]

    assert counts(inside) == {"rooted": 12, "finished": 8}
    assert counts(lost) == {"rooted": 12, "finished": 8, "in_pots": 4}


def test_a_lot_hardened_in_part_is_not_finished_nor_is_what_is_potted_after(tmp_path: Path) -> None:
    pots = f"{STUCK}2027-03-01 potted 7a --count 9\n"

    some = found(tmp_path, f"{pots}2027-05-01 hardened 7a --count 4")["7a"]
    then = found(tmp_path, f"{pots}2027-05-01 hardened 7a\n2027-05-10 potted 7a --count 2")["7a"]

    assert counts(some) == {"rooting": 3, "rooted": 9, "in_pots": 9}
    assert counts(then) == {"rooting": 1, "rooted": 11, "in_pots": 2, "finished": 9}


# --- conservation: each cutting followed one by one --------------------------------------------------------------


@dataclass(eq=False)  # two cuttings alike are still two
class Cutting:
    """One cutting and what happened to it since it was last stuck; `gone` is how it left."""

    lot: str
    stage: str
    since_stuck: tuple[str, ...] | None = None
    gone: str = ""

    def ends_as(self) -> str:
        """Its one place in the sum, by the trade's words; empty where it is not in it."""
        if self.since_stuck is None or self.gone == "found":
            return ""
        potted = bool({"potted", "outside"} & set(self.since_stuck))
        if "outside" in self.since_stuck or (potted and self.gone in ("sold", "gave", "planted", "kept")):
            done = "finished"
        else:
            done = "potted" if potted else "bag"
        if self.gone == "counted":
            return "missing"
        return f"{done} {'lost' if self.gone in ('died', 'discarded') else 'left' if self.gone else 'there'}"


def followed(bench_now: list[Cutting], row: Row, before: Stock, after: Stock) -> None:
    """Do to single cuttings what an accepted row did to lots; the first come go first."""
    new = next(iter(after.lots.keys() - before.lots.keys()), "")
    if row.event.target == "variety":
        stage = row.stage or "store"
        history = () if stage == "rooting" else None
        bench_now += [Cutting(new, stage, history) for _ in range(row.count or 0)]
        return
    here = [each for each in bench_now if each.lot == row.lot and not each.gone]
    if row.what == "joined":
        for each in here:
            each.lot = row.refers
            bench_now.remove(each)
            bench_now.append(each)
        return
    stage = row.stage or next(each for each in row.event.takes_from if any(c.stage == each for c in here))
    there = [each for each in here if each.stage == stage]
    more = (row.count or 0) - len(there)
    if row.what in ("counted", "cut_up") and more > 0:
        like = there[0].since_stuck if there else _found_history(stage, before.lots[row.lot].steps)
        place = bench_now.index(there[0]) if there else len(bench_now)
        bench_now[place:place] = [Cutting(row.lot, stage, like) for _ in range(more)]
        if row.what == "counted":
            bench_now += [Cutting(row.lot, stage, like, "found") for _ in range(more)]
        return
    if row.what == "counted":
        for each in there[: len(there) - (row.count or 0)]:
            each.gone = "counted"
        return
    for each in there[: len(there) if row.count is None else row.count]:
        bench_now.remove(each)
        bench_now.append(each)
        if row.event.to == "gone":
            each.gone = row.what
            continue
        each.stage = row.event.to
        if row.what in ("stuck", "restuck"):
            each.lot = new or row.lot
        if row.what == "stuck":
            each.since_stuck = ()
        elif each.since_stuck is not None:
            each.since_stuck = (*each.since_stuck, row.what)


def _found_history(stage: str, steps: Mapping[str, date]) -> tuple[str, ...] | None:
    if stage == "rooting":
        return ()
    known = {"pot": ("potted",), "outside": ("potted", "outside")}
    return known.get(stage) if "stuck" in steps else None


# What stands in a bed alone is lifted; these lots root in bags.
MOVERS = [e for e in EVENTS.values() if e.kind == "step" and e.takes_from and e.name != "lifted"]


@st.composite
def next_row(draw: st.DrawFn, stock: Stock, number: int) -> Row:
    """A row that can have happened: some cuttings that are there, moved by an event that takes them from there."""
    day = START + timedelta(days=number)
    there = [(lot, stage) for lot in stock.lots.values() for stage in STAGES if lot.count(stage)]
    if not there or draw(st.integers(0, 9)) == 0:
        stage = draw(st.sampled_from(STAGES))
        return Row(id=f"r{number}", day=day, what="received", variety="7", count=draw(st.integers(1, 9)), stage=stage)
    lot, stage = draw(st.sampled_from(there))
    twins = [
        other.id
        for other in stock.lots.values()
        if other.total and other.id != lot.id and other.steps.get("stuck") == lot.steps.get("stuck")
    ]
    if twins and draw(st.integers(0, 4)) == 0:
        return Row(id=f"r{number}", day=day, what="joined", lot=lot.id, refers=draw(st.sampled_from(twins)))
    event = draw(st.sampled_from([event for event in MOVERS if stage in event.takes_from]))
    most = lot.count(stage)
    low, high = {"counted": (0, most + 2), "cut_up": (most + 1, most + 3)}.get(event.name, (1, most))
    note = "counted again" if event.name == "counted" else ""
    return Row(
        id=f"r{number}",
        day=day,
        what=event.name,
        lot=lot.id,
        count=draw(st.integers(low, high)),
        stage=stage,
        note=note,
    )


@pytest.mark.long
@settings(max_examples=examples(200))
@given(st.data())
def test_stuck_is_rooted_and_not_rooted_and_left_and_still_open_whatever_happens(data: st.DataObject) -> None:
    rows = [Row(id="r0", day=START, what="received", variety="7", count=9, stage="rooting")]
    before, one_by_one = replayed([])[0], list[Cutting]()
    for number in range(1, data.draw(st.integers(1, 16)) + 1):
        after, faults = replayed(rows)
        assert faults == []
        followed(one_by_one, rows[-1], before, after)
        before = after
        rows.append(data.draw(next_row(after, number)))

    known = outcomes(before.lots)

    for stage in STAGES:
        there = [each for each in one_by_one if each.stage == stage and not each.gone]
        assert len(there) == sum(lot.count(stage) for lot in before.lots.values())
    in_sum = {each.lots: Counter[str]() for each in known}
    lots = {lot: each.lots for each in known for lot in each.lots}
    for cutting in one_by_one:
        if cutting.since_stuck is not None and cutting.lot in lots:
            in_sum[lots[cutting.lot]]["found" if cutting.gone == "found" else cutting.ends_as()] += 1
    for each in known:
        ends = in_sum[each.lots]
        assert each.dead == ends["bag lost"]
        assert each.taken == ends["bag left"]
        assert each.rooting == ends["bag there"]
        assert each.in_pots == ends["potted there"]
        assert each.finished == sum(ends[f"finished {way}"] for way in ("there", "left", "lost"))
        assert each.rooted == each.finished + each.in_pots + ends["potted lost"]
        assert each.missing == max(ends["missing"] - ends["found"], 0)
        assert each.stuck == each.rooted + each.dead + each.rooting + each.taken + each.missing
    assert sorted(lots) == sorted(set(lots)), "a lot counts with one outcome"
    for cutting in one_by_one:
        assert cutting.ends_as() in ("", "missing") or cutting.lot in lots


# --- what lots teach -----------------------------------------------------------------------------------------------


def lot(name: str, rooted: int, of: int, year: int = 2026, **more: int) -> Outcome:
    """A lot of so many, all settled unless `more` says so."""
    dead = of - rooted - more.get("rooting", 0)
    number = name.rstrip("abcdefgh")
    return Outcome(
        lots=(name,),
        number=number,
        crop="fig",
        method="sealed_bag",
        stuck_on=date(year, 1, 5),
        dead=dead,
        rooted=rooted,
        finished=rooted,
        **more,
    )


def test_with_no_history_a_share_is_exactly_the_rules() -> None:
    for part in (RatePart(crop="fig", method="sealed_bag"), RatePart(crop="fig", method="sealed_bag", number="7")):
        told = rates(part, [], RULE, season_of)

        assert (told["rooted"].mean, told["finished"].mean) == (0.6, 0.5)
        assert told["rooted"].concentration == 6.0


def test_an_open_lot_teaches_nothing_until_it_is_settled() -> None:
    told = rooted([lot("7a", 9, 10), lot("7b", 1, 10, rooting=2)])

    assert (told.lots, told.struck, told.of) == (1, 9, 10)


def in_pots(name: str, rooted: int, of: int, day: date = date(2026, 1, 5)) -> Outcome:
    """A lot of which so many stand in pots, the others dead."""
    return Outcome(
        lots=(name,),
        number="7",
        crop="fig",
        method="sealed_bag",
        stuck_on=day,
        dead=of - rooted,
        rooted=rooted,
        in_pots=rooted,
    )


def test_lots_in_pots_have_told_how_many_root_and_a_dead_one_beside_them_doubles_nothing() -> None:
    part, pots = RatePart(crop="fig", method="sealed_bag"), [in_pots(f"7{letter}", 9, 12) for letter in "abcdefgh"]

    def cuttings(*dead: Outcome) -> int:
        found = sticking(part, 10, 0.9, [*pots, *dead], RULE, season_of)
        assert found
        return found.cuttings

    assert rates(part, pots, RULE, season_of)["finished"].mean > RULE.finished
    assert cuttings(in_pots("7y", 0, 12)) < 1.35 * cuttings()
    assert cuttings(in_pots("7y", 0, 12), in_pots("7z", 0, 12)) < 1.7 * cuttings()


def test_a_lot_counts_no_sooner_for_being_dead() -> None:
    early, late = date(2026, 1, 5), date(2026, 1, 20)
    dead, waits = in_pots("7a", 0, 10, late), lot("7b", 0, 10, rooting=10)

    beside = rooted([dead, waits])
    then = rooted([dead, in_pots("7b", 9, 10, late)])

    assert beside.lots == 0
    assert [each.lots for each in held_back([dead, waits])] == [("7a",)]
    assert then.lots == 2
    assert rooted([dead, in_pots("7b", 9, 10, early), waits]).lots == 1


def test_what_finishes_is_what_roots_times_what_comes_through() -> None:
    known = [in_pots("7a", 9, 10), lot("7b", 8, 10)]

    told = rates(RatePart(crop="fig", method="sealed_bag"), known, RULE, season_of)

    assert told["finished"].made_of
    rooted, through = told["finished"].made_of
    assert told["finished"].mean == pytest.approx(rooted.mean * through.mean, abs=1e-4)
    assert (rooted.lots, through.lots) == (2, 1)


def test_the_fewer_lots_have_told_the_wider_lies_the_next_one() -> None:
    few, many = (rooted([lot(f"{n}a", 6, 10) for n in range(1, of)]) for of in (2, 21))

    assert few.in_doubt() < many.in_doubt() < 6.0
    assert few.in_doubt(10) < few.in_doubt()


def test_good_lots_raise_the_share_and_each_further_lot_narrows_it() -> None:
    lots = [lot(f"{number}a", 9, 10) for number in range(1, 9)]

    told = [rooted(lots[:number]) for number in range(9)]

    means = [each.mean for each in told]
    widths = [each.mean_range[1] - each.mean_range[0] for each in told]
    assert means == sorted(means)
    assert means[-1] < 0.9
    assert widths == sorted(widths, reverse=True)


def test_a_hundred_cuttings_in_one_lot_teach_less_than_in_ten_lots() -> None:
    one = rooted([lot("7a", 90, 100)])
    ten = rooted([lot(f"{number}a", 9, 10) for number in range(1, 11)])

    assert 0.6 < one.mean < ten.mean


def test_a_new_variety_starts_from_what_the_others_did_and_its_own_lots_count_once() -> None:
    known = [lot("7a", 9, 10), lot("8a", 2, 10), lot("9a", 10, 10)]

    new = rates(RatePart(crop="fig", method="sealed_bag", number="1"), known, RULE, season_of)["rooted"]
    eight = rates(RatePart(crop="fig", method="sealed_bag", number="8"), known, RULE, season_of)["rooted"]

    assert new.mean == rooted(known).mean
    assert eight.prior == rooted([known[0], known[2]]).mean
    assert eight.mean < new.mean < eight.prior
    assert (eight.lots, eight.of) == (1, 10)


def test_the_table_has_a_line_for_each_crop_method_variety_and_season() -> None:
    tray = Outcome(
        lots=("8b",), number="8", crop="fig", method="covered_tray", stuck_on=date(2027, 1, 5), rooted=3, finished=3
    )

    lines = parts([lot("8a", 3, 4), lot("10a", 3, 4, 2027), tray], season_of)

    bag = [line for line in lines if line.method == "sealed_bag"]
    assert lines[0] == RatePart(crop="fig", method="")
    assert [(line.number, line.season) for line in bag] == [
        ("", None),
        ("8", None),
        ("10", None),
        ("", date(2025, 8, 1)),
        ("", date(2026, 8, 1)),
    ]
    assert rates(lines[0], [lot("8a", 3, 4), tray], RULE, season_of)["rooted"].lots == 2


@pytest.mark.parametrize(
    ("stuck_on", "southern", "name"),
    [
        (date(2025, 12, 1), False, "2025/26"),
        (date(2026, 7, 31), False, "2025/26"),
        (date(1999, 8, 1), False, "1999/00"),
        (date(2026, 7, 10), True, "2026"),
        (date(2027, 1, 31), True, "2026"),
        (date(2027, 2, 1), True, "2027"),
    ],
)
def test_a_winter_is_named_by_the_day_of_sticking(stuck_on: date, southern: bool, name: str) -> None:
    start = FreezeYear(southern).start(stuck_on)
    shortest = start.replace(month=6 if southern else 12, day=21)

    assert winter(start) == winter(shortest) == name


def test_no_number_of_cuttings_gives_certain_plants() -> None:
    assert how_many(5, 1 - 1e-12, 0.5, 1.0, most=10_000) is None
    assert how_many(11, 0.5, 0.9, 6.0, most=10) is None
    assert chance_of(11, 10, 0.9, 6.0) == 0.0


def test_a_variety_asked_for_has_a_line_though_it_was_never_stuck(tmp_path: Path) -> None:
    nursery = bench(tmp_path, STUCK, TODAY)

    rates_by_part, known = strike_table(nursery, asked_for(nursery, "08", None, None))

    assert [(part.number, part.method) for part in rates_by_part] == [("", "sealed_bag"), ("8", "sealed_bag")]
    assert known == []


# --- many varieties -------------------------------------------------------------------------------------------------


@st.composite
def _settled_or_not(draw: st.DrawFn) -> Outcome:
    """An outcome of one of a few varieties, stuck on one of a few days of two winters."""
    stuck_on = TODAY - timedelta(days=700) + timedelta(days=draw(st.sampled_from((0, 5, 9, 365, 370))))
    dead, rooting, rooted = (draw(st.integers(0, 3)) for _ in range(3))
    finished = draw(st.integers(0, rooted))
    in_pots = draw(st.integers(0, rooted - finished))
    return Outcome(
        lots=("x",),
        number=draw(st.sampled_from("123")),
        crop="fig",
        method="sealed_bag",
        stuck_on=stuck_on,
        dead=dead,
        rooting=rooting,
        rooted=rooted,
        in_pots=in_pots,
        finished=finished,
    )


@given(st.lists(_settled_or_not(), max_size=12))
def test_what_others_tell_is_what_all_tell_less_a_varietys_own(known: list[Outcome]) -> None:
    counted = Counted(known)

    for number in "1234":
        assert counted.others(number) == Told.by(each for each in known if each.number != number)
        assert counted.own(number) == Told.by(each for each in known if each.number == number)
