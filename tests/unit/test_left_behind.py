"""Cuttings that stay in their bags when others of the lot are potted: what they showed themselves is what counts."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

from almanac.nursery.lots import Lot
from almanac.nursery.nursery import Nursery
from almanac.plan.model import Plan
from almanac.terminal.today import today_json, today_text
from almanac.words.tasks import about, title
from tests.nurseries import bench
from tests.unit.given import has_task, planned, task

# Twelve bags, roots seen on five, leaves on all; eight potted. The four left showed leaves, and no roots.
STUCK = "2027-01-05 received 7a --count 12 --stage rooting --bin A"
EIGHT = f"""{STUCK}
2027-01-29 roots 7a --count 5
2027-02-05 leaves 7a --count 12
2027-02-08 watered 7a
2027-02-10 potted 7a --count 8"""
FOUR_ROOT = f"{EIGHT}\n2027-03-10 roots 7a --count 2"


def of(folder: Path, log: str, on: date) -> tuple[Nursery, Plan, Lot]:
    nursery = bench(folder, log, on)
    return nursery, planned(nursery), nursery.stock.lots["7a"]


def asks(plan: Plan) -> set[str]:
    """The rules of all that is asked of bags."""
    bags = {each.rule.id for each in plan.tasks if each.rule.while_in == "rooting"}
    return bags | {each.rule.id for each in plan.looks if each.rule.while_in == "rooting"}


def test_bags_that_showed_no_roots_get_no_water_and_stay_shut(tmp_path: Path) -> None:
    _, plan, _ = of(tmp_path, EIGHT, date(2027, 2, 11))

    for name in ("water_again", "dry_water"):
        assert name not in asks(plan)
    for name in ("first_water", "wean_loosen", "pots_ready"):
        assert all(each.guessed for each in plan.tasks if each.rule.id == name), name


def test_their_roots_are_forecast_as_those_of_the_last_of_the_lot(tmp_path: Path) -> None:
    first = planned(bench(tmp_path, STUCK, date(2027, 1, 5))).milestones["7a"]["roots"].days
    _, plan, _ = of(tmp_path, EIGHT, date(2027, 2, 11))

    found = task(plan, "7a.pots_ready").milestone

    assert found is not None
    assert found.known is None
    assert first is not None
    assert found.days is not None
    assert found.days[1] > max(date(2027, 2, 10), first[1])


def test_once_they_root_in_their_turn_they_are_watered_and_weaned_by_that(tmp_path: Path) -> None:
    _, plan, _ = of(tmp_path, FOUR_ROOT, date(2027, 3, 10))

    assert not task(plan, "7a.pots_ready").guessed
    assert task(plan, "7a.pots_ready").count == 4
    assert "bag_look_rooted" in asks(plan)


def test_a_sign_without_a_number_is_one_of_the_lot_until_part_of_it_is_potted(tmp_path: Path) -> None:
    log = EIGHT.replace("roots 7a --count 5", "roots 7a")

    whole = planned(bench(tmp_path, "\n".join(log.splitlines()[:4]), date(2027, 2, 9)))
    _, left, _ = of(tmp_path, log, date(2027, 2, 11))

    assert "water_again" in asks(whole)
    assert "water_again" not in asks(left)


def test_who_counts_again_takes_the_last_number(tmp_path: Path) -> None:
    log = EIGHT.replace("2027-02-08 watered 7a", "2027-02-08 watered 7a\n2027-02-09 roots 7a --count 10")

    _, plan, _ = of(tmp_path, log, date(2027, 2, 11))

    assert not task(plan, "7a.pots_ready").guessed  # two of the four left were seen with roots


def test_what_shows_roots_is_not_given_up_and_the_rest_is_by_its_number(tmp_path: Path) -> None:
    day = date(2027, 4, 8)  # 93 days after sticking

    rooted, some, none = (
        planned(bench(tmp_path, f"{log}\n2027-04-07 looked 7a", day))
        for log in (f"{EIGHT}\n2027-03-10 roots 7a --count 4", FOUR_ROOT, EIGHT)
    )

    assert not has_task(rooted, "7a.give_up")
    assert task(some, "7a.give_up").count == 2
    assert task(none, "7a.give_up").count == 4


def test_what_is_left_is_looked_at_from_the_day_it_is_asked_to_be_given_up(tmp_path: Path) -> None:
    # Stuck on 5 January: from 5 April on, 90 days later. Whoever logs looks and no signs has a bag that may rot unseen.
    looks = "\n".join(f"{date(2027, 1, 8) + timedelta(days=each)} looked 7a" for each in range(0, 92, 4))
    log = f"{STUCK}\n{looks}\n2027-03-10 potted 7a --count 9"
    plan = planned(bench(tmp_path, log, date(2027, 4, 10)))
    days = [each.day for each in plan.rounds for line in each.lines if line.rule.id == "bag_look"]

    assert has_task(plan, "7a.give_up")
    assert date(2027, 4, 10) <= min(days) <= date(2027, 4, 16)
    assert max(later - day for day, later in pairwise(sorted(days))) <= timedelta(days=7)


def test_a_lot_in_bags_and_pots_has_lines_that_say_which(tmp_path: Path) -> None:
    nursery, plan, _ = of(tmp_path, EIGHT, date(2027, 2, 11))
    lines = [line for each in plan.rounds for line in each.lines if line.lot == "7a"]

    assert {about(line) for line in lines} == {"7a in bags", "7a in pots", "7a outside"}
    assert all(about(line) == "7a in bags" for line in lines if line.rule.while_in == "rooting")
    assert all(about(line) == "7a in pots" for line in lines if line.rule.while_in == "pot")
    assert title(task(plan, "7a.pot_up")) == "Pot up: 7a in bags (4)"
    under_its_bin, _, elsewhere = today_text(plan, nursery, 7).partition("  Bin A\n")[2].partition("  Elsewhere\n")
    assert "    7a: Roots, buds, mould, gnats\n" in under_its_bin
    assert "    7a: Weight of the pots\n" in elsewhere
    assert {"bag", "pot"} == {item["part"] for each in today_json(plan, 30)["rounds"] for item in each["looks"]}


def test_a_lot_in_bags_alone_is_named_by_its_id(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, STUCK, date(2027, 1, 6)))

    assert {about(line) for each in plan.rounds for line in each.lines if line.lot} == {"7a"}
