"""What must hold of entries, also at the hours when clocks change (IANA tz database, named beside each)."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from almanac.feed.entries import entries_of
from almanac.feed.entry import Entry
from almanac.nursery.load import load_nursery
from almanac.plan.build import build_plan
from almanac.plan.ids import EntryId
from tests.conftest import Writes

STUCK = """
2026-02-20 taken 1a --count 12
2026-02-21 stuck 1a --bin A
"""


def rounds_at(folder: Path, as_of: date) -> list[Entry]:
    nursery = load_nursery(folder, datetime(2027, 1, 1, tzinfo=UTC), as_of)
    return [entry for entry in entries_of(build_plan(nursery), nursery) if entry.id.startswith("round.")]


def round_on(day: date, at: str, zone: str, nursery: Writes, alarm: str = "bench") -> Entry:
    """The first round of a lot looked at so that one falls on the day."""
    rows = f"{day - timedelta(days=4)} taken 1a --count 12\n{day - timedelta(days=3)} stuck 1a --bin A"
    week = f'bench_days = ["{day:%a}"]\nbench_time = "{at}"'.lower()
    folder = nursery(rows, week=week, calendar=f'alarm = "{alarm}"', timezone=zone, country="")
    return next(entry for entry in rounds_at(folder, day) if entry.id == f"round.{day}")


def test_a_round_in_the_hour_that_spring_takes_away_keeps_its_day_and_its_length(nursery: Writes) -> None:
    # New York, 8 March 2026: 02:00 EST becomes 03:00 EDT. 02:30 is read with the time before the change, as RFC 5545,
    # 3.3.5, asks of a local time that does not occur: 02:30 EST = 07:30 UTC.
    found = round_on(date(2026, 3, 8), "02:30", "America/New_York", nursery)

    assert found.start == datetime(2026, 3, 8, 7, 30, tzinfo=UTC)
    assert isinstance(found.end, datetime)
    assert found.end > found.start


def test_a_round_in_the_hour_that_autumn_gives_twice_comes_the_first_time(nursery: Writes) -> None:
    # New York, 1 November 2026: 02:00 EDT becomes 01:00 EST. RFC 5545, 3.3.5: a local time that occurs twice is the
    # first one: 01:30 EDT = 05:30 UTC.
    found = round_on(date(2026, 11, 1), "01:30", "America/New_York", nursery)

    assert found.start == datetime(2026, 11, 1, 5, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("zone", "day", "start"),
    [
        # Africa/Cairo, 24 April 2026: 00:00 EET becomes 01:00 EEST; 00:15 EET = 22:15 UTC the day before.
        ("Africa/Cairo", date(2026, 4, 24), datetime(2026, 4, 23, 22, 15, tzinfo=UTC)),
        # America/Havana, 8 March 2026: 00:00 CST becomes 01:00 CDT; 00:15 CST = 05:15 UTC.
        ("America/Havana", date(2026, 3, 8), datetime(2026, 3, 8, 5, 15, tzinfo=UTC)),
    ],
)
def test_a_day_without_a_midnight_still_has_its_round(zone: str, day: date, start: datetime, nursery: Writes) -> None:
    found = round_on(day, "00:15", zone, nursery)

    assert isinstance(found.start, datetime)
    assert found.start == start
    assert found.start.astimezone(ZoneInfo(zone)).date() == day


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Pacific/Pago_Pago", "Pacific/Chatham", "Asia/Kathmandu"])
def test_far_from_utc_a_round_falls_on_its_local_day(zone: str, nursery: Writes) -> None:
    day = date(2026, 5, 5)

    found = round_on(day, "23:45", zone, nursery)

    assert isinstance(found.start, datetime)
    assert found.start.tzinfo == UTC
    assert found.start.astimezone(ZoneInfo(zone)).replace(tzinfo=None) == datetime.combine(day, time(23, 45))


@pytest.mark.parametrize(
    ("at", "alarm", "minutes"),
    [
        ("18:30", "none", None),
        ("18:30", "bench", 0),
        ("18:30", "morning", -690),  # 07:00 is eleven hours and a half before
        ("06:15", "morning", 0),  # no alarm after the round has begun
    ],
)
def test_the_alarm_is_as_the_grower_wishes(at: str, alarm: str, minutes: int | None, nursery: Writes) -> None:
    found = round_on(date(2026, 5, 5), at, "America/New_York", nursery, alarm)

    assert found.alarm == (None if minutes is None else timedelta(minutes=minutes))


def test_the_morning_alarm_rings_at_seven_by_the_clock_on_the_day_the_clocks_change(nursery: Writes) -> None:
    # New York, 8 March 2026 (as above): 07:00 EDT = 11:00 UTC.
    found = round_on(date(2026, 3, 8), "12:00", "America/New_York", nursery, "morning")

    assert isinstance(found.start, datetime)
    assert found.alarm is not None
    assert found.start + found.alarm == datetime(2026, 3, 8, 11, 0, tzinfo=UTC)


@pytest.mark.parametrize(("alarm", "hours"), [("none", None), ("morning", 7), ("bench", 7)])
def test_an_all_day_round_rings_in_the_morning_or_not_at_all(alarm: str, hours: int | None, nursery: Writes) -> None:
    # RFC 5545, 3.8.6.3: a trigger of an entry of a date counts from that day's 00:00 where the phone is.
    rounds = rounds_at(nursery(STUCK, calendar=f'alarm = "{alarm}"'), date(2026, 2, 22))

    assert rounds
    assert {entry.alarm for entry in rounds} == {None if hours is None else timedelta(hours=hours)}


def test_an_all_day_entry_ends_on_the_morning_after(nursery: Writes) -> None:
    # RFC 5545, 3.6.1: the end of an all-day entry is exclusive.
    folder = nursery(STUCK)
    read = load_nursery(folder, datetime(2027, 1, 1, tzinfo=UTC), date(2026, 2, 22))

    carried_by_the_clock = ".harden"  # where no cloth is named, plants stand in light shade for hours first
    for entry in entries_of(build_plan(read), read):
        if carried_by_the_clock not in entry.id:
            assert not isinstance(entry.start, datetime)
            assert entry.end == entry.start + timedelta(days=1)


def test_an_entry_keeps_its_uid_whatever_it_says_and_whenever_it_is() -> None:
    nursery_id = "5d1f8a52-4c0e-4b57-9f6b-2d9b3a4f1c22"
    pot_up, other_lot = EntryId("1a", "pot_up"), EntryId("1b", "pot_up")
    one = Entry(
        id=pot_up,
        feed="seasons",
        summary="Pot up 1a",
        description="text",
        day=date(2026, 5, 1),
        start=date(2026, 5, 1),
        end=date(2026, 5, 2),
    )
    moved = replace(one, feed="bench", summary="Pot up 1a (8)", start=date(2026, 5, 9), end=date(2026, 5, 10))
    other = replace(one, id=other_lot)

    assert one.uid(nursery_id) == moved.uid(nursery_id) != other.uid(nursery_id)
    assert one.uid(nursery_id) != one.uid(nursery_id.replace("5d", "5e"))
    assert UUID(one.uid(nursery_id)).version == 5  # RFC 9562, 5.5
    assert one.digest() != moved.digest()


def test_a_round_more_than_a_week_off_takes_an_hour_whatever_it_will_hold(nursery: Writes) -> None:
    # Its minutes would move it at each look; an hour stands until the week before, when its jobs are known.
    as_of = date(2026, 3, 2)
    folder = nursery(STUCK, week='bench_days = ["mon"]\nbench_time = "08:30"')
    far = [each for each in rounds_at(folder, as_of) if each.day > as_of + timedelta(days=6)]

    assert len(far) > 3
    assert all(isinstance(each.start, datetime) and isinstance(each.end, datetime) for each in far)
    assert {each.end - each.start for each in far} == {timedelta(hours=1)}  # type: ignore[operator]  # seen above


def test_later_steps_of_what_has_not_begun_are_told_for_three_weeks_at_most(nursery: Writes) -> None:
    folder = nursery(STUCK + "2026-03-20 leaves 1a\n2026-03-20 roots 1a\n2026-04-20 potted 1a --count 12\n")
    told, kept_back = 0, 0
    for ahead in range(0, 40, 2):
        as_of = date(2026, 4, 20) + timedelta(days=ahead)
        bench = load_nursery(folder, datetime(2027, 1, 1, tzinfo=UTC), as_of)
        plan = build_plan(bench)
        steps = [
            t for t in plan.tasks if t.step and t.guessed and not t.in_round and not t.rings_back and t.due >= as_of
        ]
        entered = {entry.id for entry in entries_of(plan, bench)}
        for step in steps:
            near = (step.due - as_of).days <= 20
            assert (str(step.id) in entered) is near
            told, kept_back = told + near, kept_back + (not near)

    assert told > 5
    assert kept_back > 5
