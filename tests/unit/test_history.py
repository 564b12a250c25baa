"""What the logbook's lots tell of how long things take here, and what that moves."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta
from math import exp, isinf, log
from pathlib import Path
from typing import Any

import pytest

from almanac.forecast import history
from almanac.forecast.history import _newest
from almanac.forecast.learning import Learned
from almanac.forecast.milestones import milestones
from almanac.forecast.model import Experience, Milestone, Surroundings
from almanac.forecast.supposed import lot_stuck
from almanac.forecast.timing import Timing
from almanac.forecast.told import leaps, timed
from almanac.nursery.lots import Lot
from almanac.nursery.nursery import Nursery
from almanac.rulebook.models import Duration
from tests.nurseries import bench
from tests.unit.given import planned

ROOTS = ("fig", "sealed_bag", "roots")
TODAY = date(2027, 3, 20)
STUCK = "2027-01-05 received 7a --count 12 --stage rooting --bin A"
SPARE = "2027-03-18 received 7z --count 12 --stage rooting --bin A"  # a fresh lot, whose forecast is watched


def opened(folder: Path, log: str, today: date = TODAY, **files: Any) -> tuple[Nursery, Surroundings]:
    nursery = bench(folder, log, today, **files)
    return nursery, Surroundings(
        book=nursery.book, settings=nursery.settings, frost=nursery.frost, bins=nursery.stock.bins, as_of=nursery.as_of
    )


def told(folder: Path, log: str, sign: str = "roots", lot: str = "7a", **files: Any) -> list[tuple[float, float]]:
    """The counted days between which a lot's sign came; from and to the same for a day, to infinity for a wait."""
    return [days_of(timing, duration) for timing, duration in told_as(folder, log, sign, lot, **files)]


def told_as(
    folder: Path, log: str, sign: str = "roots", lot: str = "7a", **files: Any
) -> list[tuple[Timing, Duration]]:
    nursery, around = opened(folder, log, **files)
    every = timed(nursery.stock.lots[lot], around)
    return [(each.timing, each.way.duration) for each in every if each.way.rule.name == sign]


def days_of(timing: Timing, duration: Duration) -> tuple[float, float]:
    low, high = (exp(time + log(duration.median)) for time in (timing.low, timing.high))
    return round(low, 6), round(high, 6)


def experience(lots: Iterable[Lot], around: Surroundings) -> Experience:
    return history.taught(lots, around).experience


def learned(folder: Path, log: str, **files: Any) -> Experience:
    nursery, around = opened(folder, log, **files)
    return experience(nursery.stock.lots.values(), around)


def shift(folder: Path, log: str, **files: Any) -> float:
    """How much longer roots take here than the rule says [log days]."""
    return learned(folder, log, **files)[ROOTS].grower.mean


def of(folder: Path, log: str, lot: str = "7z", **files: Any) -> dict[str, Milestone]:
    """A lot's milestones as the plan has them, with all that is learned."""
    nursery, _ = opened(folder, log, **files)
    return dict(planned(nursery).milestones[lot])


def rooted(lot: str, days: int, count: int = 12, start: date = date(2027, 1, 5)) -> str:
    """The lines of a lot looked at every day near the sighting, and rooted after so many days."""
    seen = start + timedelta(days=days)
    return (
        f"{start} received {lot} --count {count} --stage rooting --bin A\n"
        f"{seen - timedelta(days=1)} looked {lot}\n{seen} roots {lot}"
    )


# --- what one lot tells ------------------------------------------------------------------------------------------


def test_a_sign_came_between_the_look_that_missed_it_and_the_look_that_saw_it(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-16 looked 7a\n2027-01-23 looked 7a\n2027-01-28 roots 7a"

    assert told(tmp_path, log) == [(18, 23)]


def test_a_look_at_the_whole_bin_is_a_look_at_the_lot(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-23 looked --bin A\n2027-01-28 roots 7a"

    assert told(tmp_path, log) == [(18, 23)]


def test_a_look_logged_on_the_day_of_the_sighting_is_not_the_look_before(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-23 looked 7a\n2027-01-28 looked 7a\n2027-01-28 roots 7a"

    assert told(tmp_path, log) == [(18, 23)]


def test_where_looks_are_not_logged_they_are_taken_to_have_come_as_seldom_as_the_rules_allow(tmp_path: Path) -> None:
    # Looks that wait for roots come every four days by the bag's rule file; a look three weeks ago was not the last.
    assert told(tmp_path, f"{STUCK}\n2027-01-28 roots 7a") == [(19, 23)]
    assert told(tmp_path, f"{STUCK}\n2027-01-08 looked 7a\n2027-01-28 roots 7a") == [(19, 23)]


def test_where_nobody_says_that_there_was_a_look_a_count_tells_only_how_many_show_it_by_now(tmp_path: Path) -> None:
    assert told(tmp_path, f"{STUCK}\n2027-01-28 roots 7a --count 12") == [(0, 23)]
    assert told(tmp_path, f"{STUCK}\n2027-01-24 looked 7a\n2027-01-28 roots 7a --count 12") == [(19, 23)]


def test_a_grower_who_never_logs_that_bags_drink_and_pots_them_up_teaches_nothing_of_it(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-28 roots 7a\n2027-01-29 leaves 7a\n2027-03-01 potted 7a"

    assert told(tmp_path, log, "drawing") == []


def test_a_sign_on_the_very_day_of_sticking_is_taken_for_one_within_half_a_day(tmp_path: Path) -> None:
    assert told(tmp_path, f"{STUCK}\n2027-01-05 roots 7a") == [(0, 0.5)]


def test_roots_on_three_of_twelve_are_told_as_three_of_twelve(tmp_path: Path) -> None:
    [(timing, _)] = told_as(tmp_path, f"{STUCK}\n2027-01-28 roots 7a --count 3")

    assert (timing.count, timing.of) == (3, 12)


def test_roots_on_three_of_the_nine_that_are_left_are_three_of_nine(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-12 died 7a --count 3 --value rot\n2027-01-28 roots 7a --count 3"

    [(timing, _)] = told_as(tmp_path, log)

    assert (timing.count, timing.of) == (3, 9)


def test_a_lot_that_waits_tells_only_what_its_last_look_saw(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-19 looked 7a"

    [(low, high)] = told(tmp_path, log)

    assert low == 14
    assert isinf(high)


def test_a_wait_counts_no_further_than_nine_lots_in_ten_would_take_by_the_rule(tmp_path: Path) -> None:
    waits = [told(tmp_path, f"{STUCK}\n{day} looked 7a")[0][0] for day in ("2027-02-20", "2027-03-19")]

    # By hand: the first of 12 has a median normal score of -1.59 and a spread of 0.57, so the log of its days is
    # log(22) - 0.2 * 1.59, with a spread of the root of 0.30² + 0.10² + 0.15² + (0.2 * 0.57)²; 1.28 of it higher.
    assert waits[0] == waits[1] == pytest.approx(25.6, abs=0.1)


def test_a_wait_too_short_for_anyone_to_expect_roots_tells_nothing(tmp_path: Path) -> None:
    assert told(tmp_path, f"{STUCK}\n2027-01-08 looked 7a") == []


@pytest.mark.parametrize("end", ["died 7a --count 12 --value no_roots", "discarded 7a --count 12"])
def test_a_lot_that_died_or_was_given_up_tells_nothing_of_days(tmp_path: Path, end: str) -> None:
    assert told(tmp_path, f"{STUCK}\n2027-01-12 looked 7a\n2027-01-24 {end}") == []


def test_what_potting_up_settled_teaches_nothing(tmp_path: Path) -> None:
    assert told(tmp_path, f"{STUCK}\n2027-02-16 potted 7a") == []


def test_days_after_roots_that_were_only_settled_teach_nothing_of_the_way_to_well_rooted(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-02-10 well_rooted 7a"

    assert told(tmp_path, log, "roots") == []
    assert told(tmp_path, log, "well_rooted") == []


def test_a_lot_that_died_says_nothing_of_when_it_would_have_been_potted(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-26 roots 7a\n2027-02-16 well_rooted 7a\n2027-03-10 died 7a --count 12 --value rot"

    assert told(tmp_path, log, "potted") == []


def test_a_sign_that_is_often_missed_says_nothing_by_not_being_logged(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-02-16 looked 7a"

    assert told(tmp_path, log, "callus") == []
    assert told(tmp_path, log, "budbreak") == []


def test_of_part_of_a_lot_potted_early_the_first_sighting_counts_not_that_of_those_remaining(
    tmp_path: Path,
) -> None:
    first = f"{STUCK}\n2027-01-24 looked 7a\n2027-01-28 roots 7a --count 6\n2027-02-25 potted 7a --count 6"

    only, again = told_as(tmp_path, first), told_as(tmp_path, f"{first}\n2027-03-10 roots 7a --count 6")

    assert again == only
    assert days_of(*again[0]) == (19, 23)


# --- counted days: probe, power cut, another bin -----------------------------------------------------------------


def test_a_probe_that_reads_17_degrees_makes_a_day_count_half(tmp_path: Path) -> None:
    # 10 °C is the fig's base and from 24 °C on it goes no faster, so 17 °C is half of what the rule's 25 °C does.
    log = f"{STUCK}\n2027-01-15 temperature --bin A --value '17 C'\n2027-01-25 looked 7a\n2027-01-29 roots 7a"

    assert told(tmp_path, log) == [(10 + 10 * 0.5, 10 + 14 * 0.5)]


def test_a_probe_in_one_bag_counts_for_that_bag_alone(tmp_path: Path) -> None:
    other = "2027-01-05 received 8a --count 12 --stage rooting --bin A\n2027-01-29 roots 8a"
    log = f"{STUCK}\n{other}\n2027-01-15 temperature 7a --value '17 C'\n2027-01-29 roots 7a"

    assert told(tmp_path, log, lot="7a")[0][1] == 10 + 14 * 0.5
    assert told(tmp_path, log, lot="8a")[0][1] == 24


def test_days_of_a_power_cut_count_by_the_air(tmp_path: Path) -> None:
    cut = "2027-01-10 mat --bin A --value off\n2027-01-14 mat --bin A --value '25 C'"
    log = f"{STUCK}\n{cut}\n2027-01-28 roots 7a"

    assert told(tmp_path, log, air="10 C")[0][1] == 19
    assert told(tmp_path, log, air="17 C")[0][1] == 21


def test_a_lot_carried_to_a_cooler_bin_counts_by_the_bin_it_stands_in(tmp_path: Path) -> None:
    cool = "2027-01-04 mat --bin B --value '17 C'"
    log = f"{cool}\n{STUCK}\n2027-01-15 moved 7a --bin B\n2027-01-25 looked 7a\n2027-01-29 roots 7a"

    assert told(tmp_path, log, bins="AB") == [(10 + 10 * 0.5, 10 + 14 * 0.5)]


def test_a_slow_cold_shed_is_no_slow_grower(tmp_path: Path) -> None:
    # Half as warm for twice as long is the same: what is learned is told in counted days.
    warm, cool = f"{STUCK}\n2027-01-23 roots 7a", f"{STUCK}\n2027-02-14 looked 7a\n2027-02-10 roots 7a"

    assert told(tmp_path, cool, mat="17 C")[0][1] == told(tmp_path, warm)[0][1] == 18


# --- what lots teach ---------------------------------------------------------------------------------------------


def test_a_lot_of_24_and_a_lot_of_6_that_were_as_quick_teach_the_same(tmp_path: Path) -> None:
    # The first of 24 comes sooner than the first of 6; each on its own typical day says that nothing differs here.
    # Were all to root, SciPy has 22 d * exp(0.2 * norm.ppf(1 - 0.5 ** (1 / n))), 15.1 and 17.6 days; of those that do
    # root in a drawn lot (a Beta of mean 0.62 and weight 6, its own mean in doubt) the first comes on 15.8 and 18.2.
    many, few = (learned(tmp_path, rooted("7a", days, count))[ROOTS] for days, count in ((16, 24), (18, 6)))
    as_few = learned(tmp_path, rooted("7a", 16, 6))[ROOTS]

    assert abs(many.grower.mean) < 0.03
    assert abs(few.grower.mean) < 0.03
    assert as_few.grower.mean < many.grower.mean - 0.05


def test_lots_that_rooted_late_make_the_next_lot_late_at_once(tmp_path: Path) -> None:
    # The same lot, one more row: what the plan says of another lot moves.
    before = of(tmp_path, f"{rooted('7a', 28)}\n{SPARE}")["roots"]
    after = of(tmp_path, f"{rooted('7a', 28)}\n{rooted('8a', 30)}\n{SPARE}")["roots"]

    assert before.days is not None
    assert after.days is not None
    assert after.days[1] > before.days[1]


def test_lots_that_died_waiting_make_nobody_slow(tmp_path: Path) -> None:
    log = "\n".join(f"2026-01-05 received 7{x} --count 12 --stage rooting --bin A\n2026-01-24 looked 7{x}\n"
                    f"2026-02-24 died 7{x} --count 12 --value no_roots" for x in "abcd")  # fmt: skip

    assert ROOTS not in learned(tmp_path, log)


def potted_unseen(lot: str, days: int, year: int = 2026) -> str:
    """The lines of a lot of which only sticking and potting were logged."""
    start = date(year, 1, 5)
    return f"{start} received {lot} --count 12 --stage rooting --bin A\n{start + timedelta(days=days)} potted {lot}"


def test_who_logs_sticking_and_potting_alone_teaches_the_days_between(tmp_path: Path) -> None:
    slow = "\n".join(potted_unseen(f"7{letter}", 75) for letter in "abcdefgh")

    plain, taught = of(tmp_path, SPARE), of(tmp_path, f"{slow}\n{SPARE}")

    start = date(2027, 3, 18)
    assert (plain["potted"].days or [start])[1] < start + timedelta(days=62)
    assert abs(((taught["potted"].days or [start] * 3)[1] - start).days - 73) <= 3
    # What the whole took longer is shared among roots and what follows; none of it was seen apart.
    assert 0.1 < shift(tmp_path, slow) < 0.4


def test_days_to_potting_leave_it_open_whether_roots_were_slow_or_what_followed(tmp_path: Path) -> None:
    found = learned(tmp_path, "\n".join(potted_unseen(f"7{letter}", 56) for letter in "abcdefgh"))[ROOTS]

    assert 0.15 < found.grower.var**0.5 < 0.3
    assert found.potted == 8
    assert found.finished == 0


@pytest.mark.parametrize("dead", [1, 4])
def test_lots_given_up_beside_lots_potted_move_no_forecast_of_roots(tmp_path: Path, dead: int) -> None:
    good = "\n".join(potted_unseen(f"7{letter}", 52) for letter in "abcdefgh")
    given_up = "\n".join(
        f"2026-01-05 received 8{letter} --count 12 --stage rooting --bin A\n2026-04-05 discarded 8{letter} --count 12"
        for letter in "abcd"[:dead]
    )

    with_, without = of(tmp_path, f"{good}\n{given_up}\n{SPARE}"), of(tmp_path, f"{good}\n{SPARE}")

    for sign in ("roots", "potted"):
        later, usual = with_[sign].days, without[sign].days
        assert later
        assert usual
        assert abs((later[1] - usual[1]).days) <= 2


def test_a_look_without_a_sign_says_nothing_on_a_bench_that_passes_it_over(tmp_path: Path) -> None:
    past = "\n".join(potted_unseen(f"7{letter}", 55) for letter in "abcd")
    looked = "2027-01-05 received 7z --count 12 --stage rooting --bin A\n2027-02-20 looked 7z"

    found = of(tmp_path, f"{past}\n{looked}")

    assert opened(tmp_path, past)[0].stock.lots["7a"].signs == {}
    assert found["roots"].days is not None
    assert found["roots"].days[1] < date(2027, 2, 5)
    assert found["potted"].days is not None


def test_a_sign_seen_with_no_look_before_it_came_some_time_since_sticking(tmp_path: Path) -> None:
    # One row of a winter: roots seen eight weeks after sticking, and nothing else logged.
    [(timing, _)] = told_as(tmp_path, f"{STUCK}\n2027-02-28 roots 7a")

    assert timing.at_most is not None
    assert isinf(timing.at_most[0])
    assert timing.at_most[1] == timing.high
    assert abs(shift(tmp_path, f"{STUCK}\n2027-02-28 roots 7a")) < 0.1


def test_eight_rows_that_agree_are_believed_though_no_look_was_logged(tmp_path: Path) -> None:
    log = "\n".join(f"2027-01-05 received 7{x} --count 12 --stage rooting --bin A\n2027-01-25 roots 7{x}"
                    for x in "abcdefgh")  # fmt: skip

    assert abs(shift(tmp_path, log)) < 0.1  # the first of twelve usually takes 17 days
    assert shift(tmp_path, log.replace("2027-01-25", "2027-02-05")) > 0.2


def test_roots_seen_late_make_what_follows_no_quicker(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-02-28 roots 7a\n2027-03-03 well_rooted 7a"

    assert abs(learned(tmp_path, log)["fig", "sealed_bag", "well_rooted"].grower.mean) < 0.12


def test_lots_that_differ_more_than_the_rule_says_widen_the_band_slowly(tmp_path: Path) -> None:
    alike = [18, 19, 18, 17, 19, 18, 20, 18]
    apart = [11, 27, 14, 24, 12, 25, 18, 17]

    def width(days: list[int]) -> int:
        log = "\n".join(rooted(f"7{letter}", each) for letter, each in zip("abcdefgh", days, strict=True))
        early, _, late = of(tmp_path, f"{log}\n{SPARE}")["roots"].days or (date.min,) * 3
        return (late - early).days

    assert width(apart) > 1.3 * width(alike)
    assert width(apart) < 2.5 * width(alike)


def test_the_variety_that_is_slow_is_told_from_the_others(tmp_path: Path) -> None:
    log = "\n".join(
        [*(rooted(f"7{letter}", 24) for letter in "abcd"), *(rooted(f"8{letter}", 15) for letter in "abcd")]
    )

    found = learned(tmp_path, log)[ROOTS]

    assert found.offset("7z", "7").mean > found.offset("9z", "9").mean > found.offset("8z", "8").mean
    assert found.offset("9z", "9").var > found.offset("7z", "7").var


def test_lots_of_past_years_count_as_those_of_this_one(tmp_path: Path) -> None:
    past = [rooted(f"7{letter}", 24, start=date(2025, 1, 7)) for letter in "abcd"]

    assert shift(tmp_path, "\n".join(past)) > 0.2


def test_what_was_undone_is_forgotten(tmp_path: Path) -> None:
    before = f"{rooted('7a', 20)}\n2027-01-05 received 8a --count 12 --stage rooting --bin A\n2027-01-24 looked 8a"
    seen = f"{before}\n2027-02-04 roots 8a"  # the sixth row
    undone = f"{seen}\n2027-02-05 void --refers r6"

    assert learned(tmp_path, seen) != learned(tmp_path, before)
    assert learned(tmp_path, undone) == learned(tmp_path, before)
    assert of(tmp_path, f"{undone}\n{SPARE}") == of(tmp_path, f"{before}\n{SPARE}")


def test_what_other_methods_and_crops_do_changes_nothing(tmp_path: Path) -> None:
    nursery, around = opened(tmp_path, f"{rooted('7a', 30)}\n{SPARE}")
    lots = nursery.stock.lots
    vine, tray = replace(lots["7a"], id="9a", crop="vine"), replace(lots["7a"], id="9b", method="tray")
    book = around.book
    crops = {**book.crops, "vine": replace(book.crops["fig"], id="vine")}
    methods = {**book.methods, "tray": replace(book.methods["sealed_bag"], id="tray")}
    around = replace(around, book=replace(book, crops=crops, methods=methods))

    alone, among = experience([lots["7a"]], around), experience([lots["7a"], vine, tray], around)

    assert {key: among[key] for key in alone} == alone
    assert {key[:2] for key in among} == {("fig", "sealed_bag"), ("vine", "sealed_bag"), ("fig", "tray")}


def test_what_roots_teach_leaves_buds_alone(tmp_path: Path) -> None:
    plain = of(tmp_path, SPARE)
    taught = of(tmp_path, f"{rooted('7a', 30)}\n{rooted('7b', 30)}\n{SPARE}")

    assert taught["roots"].days != plain["roots"].days
    for name in ("callus", "budbreak", "leaves"):
        assert taught[name].days == plain[name].days


def test_with_no_history_the_forecast_is_the_rules_own_to_the_last_bit(tmp_path: Path) -> None:
    nursery, around = opened(tmp_path, SPARE)
    by_the_rule_alone = milestones(nursery.stock.lots["7z"], around)

    assert experience(nursery.stock.lots.values(), around) == {}
    assert planned(nursery).milestones["7z"] == by_the_rule_alone
    assert all(found.basis is None or found.basis.offset is None for found in by_the_rule_alone.values())


# --- a slip of the pen -------------------------------------------------------------------------------------------

DAYS = {"7a": 18, "7b": 20, "8a": 19, "8b": 17, "7c": 21, "9a": 19, "8c": 18, "9b": 20}


def season(**days: int) -> str:
    """Eight finished lots and a fresh one; `days` puts other days to roots in."""
    return "\n".join([*(rooted(lot, each) for lot, each in (DAYS | days).items()), SPARE])


def test_a_month_too_many_is_held_out_named_and_moves_nothing(tmp_path: Path) -> None:
    right, slip = of(tmp_path, season())["roots"], of(tmp_path, season(**{"8a": DAYS["8a"] + 30}))["roots"]

    assert held_out(right) == set()
    assert held_out(slip) == {"8a"}
    assert abs(median_days(slip) - median_days(right)) < 0.5
    assert slip.days is not None
    assert right.days is not None
    assert all(abs((one - other).days) <= 1 for one, other in zip(slip.days, right.days, strict=True))


def test_a_slip_held_out_leaves_the_forecast_as_if_that_lot_had_said_nothing(tmp_path: Path) -> None:
    for lot in DAYS:
        slip = of(tmp_path, season(**{lot: DAYS[lot] + 30}))["roots"]
        without = of(tmp_path, season().replace(rooted(lot, DAYS[lot]) + "\n", ""))["roots"]

        assert held_out(slip) == {lot}
        assert median_days(slip) == pytest.approx(median_days(without), abs=0.01)


def test_an_honest_lot_is_not_held_out_and_does_move_the_forecast(tmp_path: Path) -> None:
    right, later = of(tmp_path, season())["roots"], of(tmp_path, season(**{"8a": DAYS["8a"] + 7}))["roots"]

    assert held_out(later) == set()
    assert median_days(later) > median_days(right)


def held_out(milestone: Milestone) -> set[str]:
    return set(learned_of(milestone).held_out)


def learned_of(milestone: Milestone) -> Learned:
    assert milestone.basis is not None
    assert milestone.basis.learned is not None
    return milestone.basis.learned


def median_days(milestone: Milestone) -> float:
    """The median of one cutting as learned, before it is rounded to a date."""
    assert milestone.basis is not None
    assert milestone.basis.offset is not None
    return milestone.basis.duration.median * exp(milestone.basis.offset.mean)


@pytest.mark.parametrize(("value", "not_yet"), [("", date(2027, 1, 20)), (" --value no_trouble", date(2027, 1, 14))])
def test_a_look_for_trouble_alone_has_not_seen_that_there_were_no_roots(
    tmp_path: Path, value: str, not_yet: date
) -> None:
    log = f"{STUCK}\n2027-01-14 looked 7a\n2027-01-20 looked 7a{value}\n2027-01-24 roots 7a --count 3"
    nursery, around = opened(tmp_path, log)

    seen = [each for each in timed(nursery.stock.lots["7a"], around) if each.way.rule.name == "roots"]

    assert [each.not_yet for each in seen] == [not_yet]


def test_of_very_many_lots_the_newest_teach_and_of_each_variety_some() -> None:
    over = replace(lot_stuck("fig", 12, date(2020, 1, 1), "", "sealed_bag", number="1"), cohorts=())
    lots = [replace(over, id=f"1-{n}", steps={"stuck": date(2020, 1, 1) + timedelta(days=n)}) for n in range(1_020)]
    rare = [replace(each, id=f"2-{each.id}", number="2") for each in lots[:12]]
    waits = replace(lot_stuck("fig", 12, date(2019, 1, 1), "", "sealed_bag", number="1"), id="1-waits")

    teach = {lot.id for lot in _newest([*rare, *lots, waits])}

    assert {lot.id for lot in lots} - teach == {f"1-{n}" for n in range(20)}
    assert {lot.id for lot in rare} - teach == {"2-1-0", "2-1-1"}
    assert waits.id in teach


def test_a_lot_potted_with_nothing_logged_on_the_way_tells_of_the_whole_way_to_the_day(tmp_path: Path) -> None:
    # An act is logged on its own day: half a day either side. 5 January to 10 March are 64 days, on a mat at the rule's
    # own warmth.
    log = f"{STUCK}\n2027-03-10 potted 7a --count 12\n"
    nursery, around = opened(tmp_path, log, mat={"A": "24 C"})
    lot = nursery.stock.lots["7a"]

    (leap,) = leaps(lot, milestones(lot, around), around)

    assert (leap.start, leap.end) == ("stuck", "potted")
    assert leap.high - leap.low == pytest.approx(1.0)
    assert (leap.low + leap.high) / 2 == pytest.approx(64, rel=0.15)
