"""What to buy: what lots planned and rooting use up, from when on, less what is in hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from almanac.nursery.nursery import Nursery
from almanac.plan.room.supplies import BuyingList, Need, buying_list
from almanac.rulebook.supplies import shares
from almanac.terminal.supplies import supplies_json, supplies_text
from tests.nurseries import bench
from tests.saying import as_json
from tests.unit.given import planned

TODAY = date(2027, 1, 4)
TO_STICK = "2027-01-04 planned 7 --count {} --value 2027-02-01"
FORTY = TO_STICK.format(40)
ROOTING = "2027-01-04 received 7a --count 20 --stage rooting --bin A"


def nursery(folder: Path, log: str, *, hand: str = "", units: str = "metric", gnats: str = "larvicide") -> Nursery:
    """A nursery that has something in hand; its other settings are those of `bench`."""
    return bench(folder, log, TODAY, units=units, gnats=f'way = "{gnats}"', supplies=hand)


def bought(found: Nursery) -> BuyingList:
    return buying_list(found, planned(found))


def need(found: BuyingList, name: str) -> Need:
    [one] = [need for need in found.needs if need.id == name]
    return one


def ids(found: BuyingList) -> set[str]:
    return {need.id for need in found.needs}


# --- how much --------------------------------------------------------------------------------------------------


def test_forty_planned_cuttings_take_forty_bags_and_bands_and_the_mix_of_forty_bags(tmp_path: Path) -> None:
    found = bought(nursery(tmp_path, FORTY))

    assert need(found, "bags").expected == need(found, "bands").expected == 40
    assert need(found, "rooting_gel").expected == pytest.approx(0.020)
    assert found.bag_mix_l == pytest.approx(38.4, abs=0.05)  # 40 x 0.835 l x 1.15


@pytest.mark.parametrize("log", [FORTY, ROOTING, f"{FORTY}\n{ROOTING}"])
def test_the_parts_of_a_mix_come_to_the_whole_mix(tmp_path: Path, log: str) -> None:
    found = bought(nursery(tmp_path, log))
    parts = ("peat", "perlite", "potting_mix", "compost")

    mixed = sum(need.expected for need in found.needs if need.id in parts)
    at_most = sum(need.up_to for need in found.needs if need.id in parts)

    assert mixed == pytest.approx(found.bag_mix_l + found.pots * 2.8 * 1.15)
    assert at_most == pytest.approx(found.bag_mix_l + found.pots_up_to * 2.8 * 1.15)


def test_of_what_is_planned_so_many_are_potted_as_usually_root_and_each_takes_a_pot_and_a_label(tmp_path: Path) -> None:
    there = nursery(tmp_path, FORTY)
    found = bought(there)

    assert found.pots == pytest.approx(40 * there.book.crops["fig"].strike.rooted, abs=1)
    assert found.pots < found.pots_up_to <= 40
    assert (need(found, "tall_pots").expected, need(found, "tall_pots").up_to) == (found.pots, found.pots_up_to)
    assert need(found, "labels").expected == 40 + found.pots


def test_what_roots_already_needs_pots_and_no_more_bags(tmp_path: Path) -> None:
    found = bought(nursery(tmp_path, ROOTING))

    assert ids(found) == {"tall_pots", "labels", "potting_mix", "perlite", "compost", "trap_cards", "larvicide"}
    assert need(found, "labels").expected == found.pots


@settings(max_examples=8, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(count=st.integers(1, 12), times=st.integers(2, 5))
def test_twice_as_many_planned_take_twice_as_much(tmp_path: Path, count: int, times: int) -> None:
    one = bought(nursery(tmp_path, TO_STICK.format(count)))
    more = bought(nursery(tmp_path, TO_STICK.format(count * times)))

    for name in ("bags", "bands", "rooting_gel", "peat"):
        assert need(more, name).expected == pytest.approx(times * need(one, name).expected)
        assert need(more, name).up_to == pytest.approx(times * need(one, name).up_to)
    assert more.pots <= times * one.pots < more.pots + times  # whole pots


@settings(max_examples=8, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(bags=st.integers(0, 100), litres=st.integers(0, 200))
def test_what_is_in_hand_is_taken_off_and_never_more_than_is_needed(tmp_path: Path, bags: int, litres: int) -> None:
    found = bought(nursery(tmp_path, f"{FORTY}\n{ROOTING}", hand=f'bags = {bags}\nperlite = "{litres} l"'))

    for each in found.needs:
        assert 0 <= each.to_buy <= each.expected
        assert each.to_buy <= each.to_buy_up_to <= each.up_to
        assert each.to_buy + each.in_hand >= each.expected - 1e-9
    assert need(found, "bags").to_buy == max(40 - bags, 0)
    assert need(found, "perlite").to_buy == pytest.approx(max(need(found, "perlite").expected - litres, 0))


def test_a_grower_with_another_bag_changes_the_bag_alone(tmp_path: Path) -> None:
    (tmp_path / "rules" / "methods").mkdir(parents=True)
    (tmp_path / "rules" / "methods" / "sealed_bag.toml").write_text('[bag]\nwidth = "3 in"\n', encoding="utf-8")

    found = bought(nursery(tmp_path, FORTY))

    assert found.bag_mix_l == pytest.approx(40 * 0.469 * 1.15, abs=0.03)  # 3 in, filled 10 in: 0.469 l
    assert need(found, "peat").expected == pytest.approx(found.bag_mix_l / 2)


def test_a_grower_with_another_mix_changes_the_shares(tmp_path: Path) -> None:
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "supplies.toml").write_text(
        '[supply.bark]\ntitle = "Bark"\nmeasure = "volume"\nlead = "7 d"\nsource = "practice"\n'
        "[mix.bag.peat]\nshare = 0.333\n[mix.bag.perlite]\nshare = 0.333\n[mix.bag.bark]\nshare = 0.333\n"
        'source = "practice"\n',
        encoding="utf-8",
    )

    found = bought(nursery(tmp_path, FORTY))

    assert need(found, "bark").expected == need(found, "peat").expected == pytest.approx(found.bag_mix_l / 3)


def test_thirds_are_taken_to_make_a_whole(tmp_path: Path) -> None:
    there = nursery(tmp_path, FORTY)

    assert sum(shares(there.book.supplies.mix.bag).values()) == pytest.approx(1)
    assert sum(shares(there.book.supplies.mix.pot).values()) == pytest.approx(1)


# --- wood in store ---------------------------------------------------------------------------------------------


def test_wood_in_store_that_nobody_plans_to_stick_is_offered_and_not_counted(tmp_path: Path) -> None:
    log = f"2027-01-02 taken 7a --count 30\n2027-01-02 taken 8a --count 5\n{TO_STICK.format(12)}"

    there = nursery(tmp_path, log)
    found = bought(there)

    assert need(found, "bags").expected == 12
    assert [(lot.id, count) for lot, count in found.in_store] == [("7a", 18), ("8a", 5)]
    assert 23 / 3 < found.pots_of_store < 23  # some of any wood fails, and most of figs' strikes
    told = " ".join(supplies_text(found, there).split())
    assert "Not counted: 23 in store (7a, 8a) that nobody plans to stick. To stick them too takes 23 bags" in told


def test_where_nothing_is_planned_and_nothing_roots_it_says_how_to_plan(tmp_path: Path) -> None:
    there = nursery(tmp_path, "2027-01-02 taken 7a --count 30")
    found = bought(there)

    told = supplies_text(found, there)

    assert found.needs == ()
    assert "stickdate log planned 7 --count 20 --value 2027-01-18" in " ".join(told.split())
    assert "30 in store (7a)" in told


def test_pots_for_a_lot_that_nobody_can_date_are_said_to_be_left_out(tmp_path: Path) -> None:
    log = "2026-07-01 received 7a --count 8 --stage rooting --bin A\n2026-12-20 looked 7a"

    found = bought(nursery(tmp_path, log))

    assert found.pots == 0
    assert found.unforeseen == ("7a",)


def test_mix_for_what_roots_in_no_bag_is_said_to_be_left_out(tmp_path: Path) -> None:
    there = nursery(tmp_path, FORTY)
    found = bought(there)

    left_out = "No mix is counted for 40 that root in no bag and in no cell."
    assert left_out not in supplies_text(found, there)
    assert left_out in supplies_text(replace(found, in_bags=0), there)


# --- when ------------------------------------------------------------------------------------------------------


def test_bags_are_ordered_a_lead_time_before_the_first_is_stuck(tmp_path: Path) -> None:
    log = f"{TO_STICK.format(4)}\n2027-01-04 planned 8 --count 4 --value 2027-02-20"

    found = bought(nursery(tmp_path, log))

    assert need(found, "bags").needed_by == date(2027, 2, 1)
    assert need(found, "bags").order_by == date(2027, 2, 1) - timedelta(days=21)


def test_pots_are_ordered_for_the_day_by_which_one_lot_in_ten_would_be_potted(tmp_path: Path) -> None:
    there = nursery(tmp_path, ROOTING)
    plan = planned(there)
    early = plan.milestones["7a"]["potted"].days

    found = buying_list(there, plan)

    assert early is not None
    assert need(found, "tall_pots").needed_by == early[0]
    assert need(found, "perlite").needed_by == early[0]


def test_what_is_used_in_bags_and_in_pots_is_ordered_for_the_first_of_both(tmp_path: Path) -> None:
    found = bought(nursery(tmp_path, FORTY))

    assert need(found, "perlite").needed_by == need(found, "labels").needed_by == date(2027, 2, 1)
    assert need(found, "potting_mix").needed_by > date(2027, 2, 1)


def test_a_lot_planned_for_a_day_gone_by_is_bought_for_today(tmp_path: Path) -> None:
    there = bench(tmp_path, FORTY, date(2027, 2, 10))

    assert need(buying_list(there, planned(there)), "bags").needed_by == date(2027, 2, 10)
    assert "now" in supplies_text(buying_list(there, planned(there)), there)


# --- gnats -----------------------------------------------------------------------------------------------------


def test_each_bin_gets_a_card_a_fortnight_while_bags_stand_there(tmp_path: Path) -> None:
    there = nursery(tmp_path, ROOTING)
    plan = planned(there)
    potted = plan.milestones["7a"]["potted"].days
    assert potted is not None
    days = (potted[1] - TODAY).days + 1

    cards = need(buying_list(there, plan), "trap_cards")

    assert cards.expected == -(-days // 14)
    assert cards.needed_by == TODAY


def test_a_bin_whose_bags_nobody_can_date_the_end_of_gets_one_card(tmp_path: Path) -> None:
    log = "2026-07-01 received 7a --count 8 --stage rooting --bin A\n2026-12-20 looked 7a"

    assert need(bought(nursery(tmp_path, log)), "trap_cards").expected == 1


def test_larvicide_is_a_reserve_for_every_pot_while_no_gnats_are_about(tmp_path: Path) -> None:
    there = nursery(tmp_path, ROOTING)
    found = bought(there)
    larvicide = need(found, "larvicide")

    assert larvicide.only_reserve
    assert larvicide.expected == pytest.approx(found.pots * 3 * 0.3)  # three turns of 0.3 l
    assert found.needs[-1] == larvicide
    assert "* a reserve in case of gnats: 3 turns for every pot" in supplies_text(found, there)


def test_turns_planned_against_gnats_are_no_reserve(tmp_path: Path) -> None:
    log = "2026-12-20 received 7a --count 30 --stage pot\n2027-01-04 gnats 7a --count 9"

    there = nursery(tmp_path, log)
    plan = planned(there)
    turns = [task for task in plan.tasks if task.rule.id == "gnat_drench"]
    larvicide = need(buying_list(there, plan), "larvicide")

    assert turns
    assert larvicide.expected - larvicide.reserve == pytest.approx(len(turns) * 30 * 0.3)
    assert larvicide.needed_by == min(task.due for task in turns)


@pytest.mark.parametrize("way", ["nematodes", "drying", "traps"])
def test_who_uses_no_larvicide_buys_none(tmp_path: Path, way: str) -> None:
    assert "larvicide" not in ids(bought(nursery(tmp_path, f"{FORTY}\n{ROOTING}", gnats=way)))


# --- as it is told ---------------------------------------------------------------------------------------------


def test_volumes_are_told_in_litres_and_cubic_feet_and_in_gallons_where_those_are_used(tmp_path: Path) -> None:
    us, metric = (supplies_text(bought(there), there) for there in (
        nursery(tmp_path, FORTY, units="us"), nursery(tmp_path, FORTY)
    ))  # fmt: skip

    [heading] = [line for line in us.splitlines() if line.startswith("litres")]
    assert " ".join(heading.split()) == "litres need in hand to buy = cu ft = gal order by"
    [peat] = [line for line in us.splitlines() if line.startswith("Peat")]
    assert peat.split()[3:7] == [
        "20",
        "0",
        "20",
        "0.68",
    ]  # 40 x 0.96 l / 2 = 19.2 l = 0.678 cu ft = 5.07 gal, rounded up
    assert peat.split()[7] == "5.1"
    assert "gal" not in metric


def test_it_fits_eighty_columns(tmp_path: Path) -> None:
    there = nursery(tmp_path, f"{TO_STICK.format(400)}\n{ROOTING}", units="us", hand='perlite = "40 l"')

    assert all(len(line) <= 80 for line in supplies_text(bought(there), there).splitlines())


def test_it_warns_of_what_is_to_be_bought_and_not_of_what_is_there(tmp_path: Path) -> None:
    all_there = "\n".join(f'{name} = "999 l"' for name in ("peat", "perlite"))

    buying = nursery(tmp_path, FORTY)
    dust = supplies_text(bought(buying), buying)
    having = nursery(tmp_path, FORTY, hand=all_there)
    no_dust = supplies_text(bought(having), having)

    for caution in ("dust", "legionella", "hormone", "pesticide"):
        assert buying.book.cautions[caution].short in dust
    assert buying.book.cautions["dust"].short not in no_dust
    assert buying.book.closing in dust


def test_as_json_volumes_are_litres_and_pieces_whole(tmp_path: Path) -> None:
    there = nursery(tmp_path, f"{FORTY}\n{ROOTING}", hand='bags = 30\nperlite = "1 cu ft"')
    found = as_json(supplies_json(bought(there), there))
    by_id = {each["id"]: each for each in found["supplies"]}

    assert found["bag"] == {"volume_l": 0.835, "mix_l": 0.96}
    assert (by_id["bags"]["need"], by_id["bags"]["in_hand"], by_id["bags"]["to_buy"]) == (40, 30, 10)
    assert by_id["perlite"]["in_hand"] == pytest.approx(28.3168)
    assert by_id["perlite"]["to_buy_cu_ft"] == pytest.approx(by_id["perlite"]["to_buy"] / 28.316846592, abs=0.001)
    assert by_id["perlite"]["unit"] == "l"
    assert (by_id["bags"]["order_by"], by_id["bags"]["late"]) == ("2027-01-11", False)
