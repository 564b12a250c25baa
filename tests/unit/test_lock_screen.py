"""What a phone shows of an entry: a title told apart in a month's page, an alarm or none, a text that is read."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from almanac.feed.entries import entries_of
from almanac.feed.entry import Entry
from almanac.nursery.nursery import Nursery
from almanac.plan.agenda.cautioned import cautions_of_round
from almanac.words.lock_screen import MONTH, cut, lots_in, round_title
from almanac.words.rounds import round_text
from almanac.words.tasks import ENTRY, LOCK_SCREEN
from tests.journeys.calm import saying
from tests.nurseries import bench
from tests.unit.given import planned

STUCK = "2027-01-05 received 7a --count 12 --stage rooting --bin A"
READY = f"{STUCK}\n2027-02-16 well_rooted 7a --count 6"
NAMES = "number,name,crop\n" + "".join(f"{n},Invented {n},fig\n" for n in range(1, 31))
# Thirty lots in two bins, and troubles of every kind among them.
THIRTY = "\n".join(f"2026-12-28 received {n} --count 6 --stage rooting --bin {'AB'[n % 2]}" for n in range(1, 31))
TROUBLES = "\n".join(
    f"2027-01-14 {what} {lot}" for what, lot in (("rot", "17a"), ("mould", "4a"), ("dry", "9a"), ("wet", "12a"))
)
GNATS = "2027-01-14 gnats --bin A --count 9"


def entries(nursery: Nursery, page: str = "") -> dict[str, Entry]:
    return {str(each.id): each for each in entries_of(planned(nursery), nursery, page)}


def thirty(folder: Path, log: str = "") -> Nursery:
    rows = f"{THIRTY}\n{log}"
    return bench(folder, rows, date(2027, 1, 15), varieties=NAMES, bins="AB", bags=90)


# --- titles --------------------------------------------------------------------------------------------------------


def test_an_entry_begins_with_its_lots_and_names_how_many_and_which_variety(tmp_path: Path) -> None:
    some, all_of_it = (
        entries(bench(tmp_path / f"{count}", f"{STUCK}\n2027-02-16 well_rooted 7a{count}", date(2027, 2, 17)))
        for count in (" --count 6", "")
    )

    assert some["7a.pot_up"].summary == "7a: pot up, 6 of 12 cuttings"
    assert all_of_it["7a.pot_up"].summary == "7a: pot up, 12 cuttings, Copper Kettle"
    assert "7a Copper Kettle." in some["7a.pot_up"].description


def test_a_count_of_cuttings_is_never_read_as_a_share_of_them(tmp_path: Path) -> None:
    found = entries(bench(tmp_path, "2027-01-05 planned 8 --count 6 --value 2027-02-02", date(2027, 1, 6)))

    assert found["r1.stick_planned"].summary == "No. 8: stick 6 cuttings, Blue Ladder"


def test_a_round_names_the_rotting_lot_among_thirty_in_a_months_page(tmp_path: Path) -> None:
    calm, ill = (entries(thirty(tmp_path / name, log)) for name, log in (("calm", ""), ("ill", TROUBLES)))

    summaries = [found["round.2027-01-15"].summary for found in (calm, ill)]
    assert "17a" not in summaries[0]
    assert "Take out rot 17a" in summaries[1][:MONTH]
    assert summaries[1] == "Take out rot 17a, treat mould 4a +2 jobs"


def test_of_many_lots_as_many_are_named_as_there_is_room_for() -> None:
    assert lots_in(["1b", "2b"]) == "1b, 2b"
    assert lots_in(["1b", "2b", "5a", "6b", "7a"]) == "1b, 2b +3"
    assert lots_in(["10a", "11b"], 5) == "10a +1"
    assert cut("Last Streetlamp on the Left", 14) == "Last Streetla…"


def test_every_title_fits_a_locked_phone_and_steps_of_hardening_are_told_apart_in_a_month(tmp_path: Path) -> None:
    log = "\n".join(f"2027-03-01 received {n}a --count 6 --stage pot" for n in range(1, 7))
    cloths = "cloths = [0.7, 0.4]"
    found = entries(bench(tmp_path, log, date(2027, 4, 1), varieties=NAMES, hardening=cloths))

    assert max(len(each.summary) for each in found.values()) <= LOCK_SCREEN
    steps = [each.summary[:MONTH] for name, each in found.items() if ".harden." in name]
    assert steps
    assert len(steps) == len(set(steps))
    carried = [each.summary for name, each in found.items() if "harden_out" in name]
    assert all(summary.count(":") in (1, 3) for summary in carried), "an hour was cut off"


# --- texts ---------------------------------------------------------------------------------------------------------


def test_the_busiest_round_is_read_to_its_end_and_keeps_every_caution(tmp_path: Path) -> None:
    nursery = thirty(tmp_path, f"{TROUBLES}\n{GNATS}")
    each = planned(nursery).rounds[0]
    names = cautions_of_round(each, nursery.book, ())

    told, whole = (round_text(each, nursery.book, (), cautions) for cautions in ((), names))

    assert names
    assert len(told) <= ENTRY
    assert "Take out rotten sticks. " in told
    assert "Take out rotten sticks. " in whole, "cautions told whole push out nothing of what is to do"
    for name in names:
        assert nursery.book.cautions[name].short in told
        assert nursery.book.cautions[name].text in whole
    for lot in ("17a", "4a", "9a", "12a"):
        assert lot in told
    assert "stickdate why round.2027-01-15" in told  # where the rest is


def test_what_to_look_for_is_said_once_where_there_is_room(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-05 received 8a --count 6 --stage rooting --bin B"
    nursery = bench(tmp_path, log, date(2027, 1, 6), bins="AB")

    told = round_text(planned(nursery).rounds[1], nursery.book, ())

    assert told.count("sweat on the inside") == 1
    assert "stickdate why" not in told


def test_an_entry_that_leads_to_the_page_names_no_command_and_says_so_when_the_page_goes(tmp_path: Path) -> None:
    nursery = thirty(tmp_path, TROUBLES)
    alone, served = entries(nursery), entries(nursery, "http://shed.local:8765/")

    for name, each in served.items():
        if each.url:
            assert "stickdate" not in each.description, name
            assert each.digest() != alone[name].digest() or "stickdate" not in alone[name].description
        else:
            assert each.digest() == alone[name].digest()


# --- alarms --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("alarm", ["morning", "bench"])
def test_a_deadline_rings_the_evening_before(tmp_path: Path, alarm: str) -> None:
    nursery = bench(tmp_path, "2027-01-05 taken 7a --count 9", date(2027, 1, 6), calendar=f'alarm = "{alarm}"')
    deadlines = [each for each in planned(nursery).tasks if each.rule.kind == "deadline"]

    assert deadlines
    assert {entries(nursery)[task.id].alarm for task in deadlines} == {timedelta(hours=-6)}


def test_one_thing_rings_a_morning_and_it_is_the_round_where_there_is_one(tmp_path: Path) -> None:
    log = f"{READY}\n2027-01-06 taken 8a --count 9"
    nursery = bench(tmp_path, log, date(2027, 2, 17), calendar='alarm = "morning"')

    every = entries(nursery).values()
    rings = [each for each in every if each.alarm == timedelta(hours=7)]
    of_day = {each.day: each.id.kind for each in rings}
    rounds = {each.day for each in every if each.id.kind == "round"}

    assert len(rings) == len(of_day), "several things ring on one morning"
    assert {of_day[day] for day in rounds} == {"round"}
    assert rounds & {each.day for each in every if each.id.kind == "task"}, "a task falls on the day of a round"
    assert set(of_day) - rounds, "a day without a round rings for what is due"


def test_a_round_away_asks_someone_and_still_names_the_trouble(tmp_path: Path) -> None:
    week = 'bench_days = ["tue"]\naway = [ { from = 2027-01-14, to = 2027-01-20 } ]'
    nursery = bench(tmp_path, f"{STUCK}\n2027-01-14 rot 7a", date(2027, 1, 14), week=week)

    assert round_title(planned(nursery).rounds[0]).startswith("Ask someone: take out rot 7a")


def test_of_a_month_of_entries_no_two_that_ask_for_different_things_have_the_same_title(tmp_path: Path) -> None:
    nursery = thirty(tmp_path, TROUBLES)
    plan = planned(nursery)
    asked = saying(plan)

    said: dict[str, set[frozenset[tuple[str, ...]]]] = {}
    for each in entries_of(plan, nursery):
        told = each.summary != "Bench round"  # one more than a week off asks for nothing yet
        if told and each.day <= plan.as_of + timedelta(days=31) and str(each.id) in asked:
            said.setdefault(each.summary, set()).add(asked[str(each.id)])

    assert len(said) >= 6
    assert [summary for summary, things in said.items() if len(things) > 1] == []


def test_lots_that_stand_elsewhere_are_not_counted_to_a_bed(tmp_path: Path) -> None:
    wood = "\n".join(f"2026-11-{20 + n} taken {n} --count 9" for n in range(1, 8))
    nursery = bench(
        tmp_path,
        f"{wood}\n2026-11-22 stuck 1a --count 6 --bin Ditch",
        date(2026, 12, 2),
        varieties=NAMES.replace("fig", "willow"),
        calendar='alarm = "none"\n\n[[place]]\nname = "Ditch"\nkind = "bed"\nholds = 80\n',
    )
    whole = max(planned(nursery).rounds, key=lambda each: len(each.lots))

    title = round_title(replace(whole, lines=tuple(line for line in whole.lines if line.look)))

    here = {line.lot for line in whole.lines if line.bin}
    assert f"{len(here)} lot in Ditch" in title or f"{len(here)} in Ditch" in title, title
    assert f", {len(whole.lots) - len(here)} elsewhere" in title
    assert len(title) <= LOCK_SCREEN
