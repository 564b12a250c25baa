"""A year at many places: lots started in every month, by a grower who logs all and by one who logs nothing more.

What must hold of every plan of every day, whatever the place: the checks know the rules' words, not their numbers.
STICKDATE_YEAR=whole plans every day for every place and month, which takes hours; `everywhere` samples days of each;
the default takes another month at each place, and of who logs all half a year at one.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from almanac.feed.entries import entries_of
from almanac.nursery.events import STAGES
from almanac.nursery.load import load_nursery
from almanac.nursery.lots import Lot
from almanac.nursery.nursery import Nursery
from almanac.plan.model import Look, Plan, Task
from almanac.plan.past import Past
from almanac.rulebook.models import SITE_DAYS
from almanac.terminal.lots import lots_json, lots_text
from almanac.terminal.today import today_json, today_text
from almanac.terminal.why import why_json, why_text
from almanac.words.why import find
from tests.conftest import teasel_yard
from tests.journeys.year import EVERYWHERE, WHOLE, Year, log_what_is_asked, next_day_that_asks
from tests.nurseries import NO_FROST, WEEK, Parts, frost_dates
from tests.saying import as_json
from tests.unit.given import longest_and_first

LENGTH = 430  # from a start in any month of 2027 past 29 February 2028
ENTERED_BY = {"rooting": "stuck", "pot": "potted", "outside": "outside"}


# All invented, but likely for the latitude: from frost in every month to none at all.
# Cairo, Havana and Santiago change their clocks at midnight, so that some days there have no 00:00 (IANA tz database).
AWAY = "away = [ { from = 2027-08-01, to = 2027-08-09 }, { from = 2028-02-26, to = 2028-03-03 } ]"


def _place(latitude: float, longitude: float, timezone: str, *frost: str) -> Parts:
    table = frost_dates(*frost) if frost else NO_FROST
    return Parts(latitude=latitude, longitude=longitude, timezone=timezone, country="", frost=table)


PLACES = {
    "70 north, frost in every month": _place(70, 25, "Europe/Oslo", "06-25 07-12 07-28", "08-03 08-12 08-29"),
    "60 north": _place(60, 25, "Europe/Helsinki", "05-05 05-20 06-06", "09-08 09-22 10-06"),
    "49 north": _place(49, 9, "Europe/Berlin", "04-10 04-26 05-12", "10-02 10-18 11-03"),
    "37 north": _place(37.3, -79.9, "America/New_York", "04-04 04-17 04-30", "10-05 10-18 11-02"),
    "30 north, hardly a frost": _place(30, 31, "Africa/Cairo", "12-20 01-15 02-10", "12-05 01-05 01-28"),
    "23 north": _place(23.1, -82.4, "America/Havana"),
    "on the equator": _place(0, -78.5, "America/Guayaquil"),
    "20 south": _place(-20, 57.5, "Pacific/Kiritimati"),
    "33 south": _place(-33.4, -70.6, "America/Santiago", "08-10 08-30 09-20", "05-10 05-28 06-20"),
    "45 south": _place(-45, 170, "Pacific/Auckland", "09-25 10-15 11-05", "04-05 04-20 05-08"),
    "55 south": _place(-55, -68, "America/Punta_Arenas", "11-01 11-25 12-20", "02-20 03-12 04-01"),
    "70 south, frost every month": _place(-70, 11, "Antarctica/Vostok", "12-25 01-10 01-28", "02-02 02-10 02-25"),
}


def _start(year: Year, start: date) -> None:
    """Four lots, one of them protected: kept in store, stuck in part, stuck whole, and bought in pots."""
    year.log(start, "taken", "1a", variety="1", count=20)
    year.log(start, "taken", "3a", variety="3", count=9)
    year.log(start, "received", "7a", variety="7", count=6, stage="pot", value="trade")
    year.log(start + timedelta(days=4), "stuck", "1a", count=12, bin="A", refers="1b")
    year.log(start + timedelta(days=9), "stuck", "3a", bin="B")
    year.log(start, "planned", variety="2", count=5, value=(start + timedelta(days=40)).isoformat())


def _check(nursery: Nursery, plan: Plan, past: Past) -> None:
    entries = entries_of(plan, nursery)
    names = [task.id for task in plan.tasks] + [each.id for each in plan.rounds]
    assert len(names) == len(set(names)), "two tasks of one id"
    assert len(entries) == len({entry.id for entry in entries}), "two entries of one id"
    for entry in entries:
        assert entry.day >= plan.as_of, f"{entry.id} lies in the past"
        assert entry.start < entry.end
    # By a round to come, or by one gone by: it is not asked for again before a full interval is over.
    reminded = {line.id for each in plan.rounds for line in each.lines}
    reminded |= {name for day, names in past.rounds.items() if plan.as_of - day <= timedelta(days=28) for name in names}
    for task in plan.tasks:
        assert task.earliest <= task.latest, task.id
        if task.rule.kind == "window" and task.rule.scope == "lot" and task.feed != "sales":
            told = task.due >= plan.as_of or task.id in reminded or task.rule.lapses or task.guessed
            assert told, f"{task.id} is due in the past, unsaid"
        if task.due >= plan.as_of:
            _not_before_its_milestone(task)
        for lot in task.lots if _is_there(task) else ():
            assert _will_be_in(nursery.stock.lots[lot], task, plan), f"{task.id}: no cuttings in {task.rule.while_in}"
    for each in plan.rounds:
        for line in each.lines:
            if line.task and line.late_since is None and line.task.milestone and line.task.milestone.days:
                assert each.day >= line.task.milestone.days[0], f"{line.id} before its milestone"
    for found in plan.milestones.values():
        for milestone in found.values():
            days = milestone.shown(plan.as_of)
            assert days is None or days[0] <= days[1] <= days[2], milestone
            assert milestone.known or days is None or days[0] >= plan.as_of, milestone
    for look in plan.looks:
        _kept_or_said(look, plan, past)


def _is_there(task: Task) -> bool:
    """Whether its lots are there, not only planned."""
    return task.rule.scope == "lot" and task.counted_from != "planned" and not task.to_come


def _not_before_its_milestone(task: Task) -> None:
    window = task.milestone.window if task.milestone else None
    if task.rule.overdue:
        return  # it asks why its milestone has not come
    if task.rule.kind != "deadline" and task.counted_from not in SITE_DAYS and window:
        # The forecast of what is not logged slips to the week's end; the day on which it is asked for stays. So late in
        # summer that a week more would be too near the frost, the forecast is that of next spring.
        slips = task.rule.id in ("harden_out", "harden_nights") and task.milestone and task.milestone.known is None
        next_year = slips and (window[0] - task.earliest).days > 180
        first = task.earliest if next_year else window[0] - timedelta(days=6 * bool(slips))
        assert task.earliest >= first, f"{task.id} opens before its milestone"
        assert task.due >= first, f"{task.id} is due before its milestone"


def _will_be_in(lot: Lot, task: Task, plan: Plan) -> bool:
    """Whether cuttings of the lot stand in the task's stage, or stand before it and are forecast to come."""
    stage = task.rule.while_in
    if stage is None or lot.count(stage):
        return True
    behind = STAGES[: STAGES.index(stage)]
    comes = plan.milestones[lot.id].get(ENTERED_BY.get(stage, ""))
    return bool(comes and comes.known is None and comes.days and any(lot.count(each) for each in behind))


def _kept_or_said(look: Look, plan: Plan, past: Past) -> None:
    """Between two visits to a look no more days than its rule allows, from the last one done to its end."""
    longest, first = longest_and_first(look)
    if look.bin:
        days = [each.day for each in plan.rounds]
    else:
        # Where two looks of a lot count from the same day, the one for its present age is enough.
        about = look.lot, look.rule.after
        told = [(each.day, line.look) for each in plan.rounds for line in each.lines if line.look]
        days = sorted({day for day, other in told if (other.lot, other.rule.after) == about})
    said = {warning.day for warning in plan.warnings if warning.kind == "missed" and look.lot in (*warning.lots, "")}
    done = [day for day in past.rounds if day >= look.opens]
    done += [look.seen.last] if look.seen.last and look.seen.last >= look.opens else []
    latest = max(max(done) + longest, first) if done else first
    for day in [day for day in days if look.opens <= day <= look.end]:
        assert day <= latest or latest < plan.as_of or latest in said, f"{look.id} waits till {day}, not {latest}"
        latest = max(day + longest, first)
    assert latest > look.end or latest < plan.as_of or latest in said, f"{look.id} is not looked at by {latest}"


def _show(nursery: Nursery, plan: Plan) -> None:
    """Everything a person may ask for is told without stumbling."""
    assert today_text(plan, nursery, 14)
    assert as_json(today_json(plan, 14))
    assert lots_text(plan, nursery, closed=True)
    assert as_json(lots_json(list(nursery.stock.lots.values()), plan))
    for name in [task.id for task in plan.tasks] + [each.id for each in plan.rounds]:
        answer = find(name, plan)
        assert why_text(answer, plan, nursery)
        assert as_json(why_json(answer, plan, nursery))


@pytest.fixture(scope="module")
def bases(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, Nursery]:
    folder: Path = tmp_path_factory.mktemp("year")
    found = {}
    for number, (name, place) in enumerate(PLACES.items()):
        path = teasel_yard(folder / str(number), **(place | Parts(week=f"{WEEK}\n{AWAY}")))
        found[name] = load_nursery(path, datetime(2030, 1, 1, tzinfo=UTC))
    return found


PAIRS = [
    (place, month)
    for number, place in enumerate(PLACES)
    for month in range(1, 13)
    if EVERYWHERE or month == number * 5 % 12 + 1
]
SOME = [(place, number * 5 % 12 + 1) for number, place in enumerate(PLACES) if EVERYWHERE or place == "37 north"]


@pytest.mark.parametrize(("place", "month"), PAIRS)
def test_a_grower_who_logs_nothing_more_is_never_told_nonsense(
    place: str, month: int, bases: Mapping[str, Nursery]
) -> None:
    year, start = Year(bases[place]), date(2027, month, 13)
    _start(year, start)
    days = {start + timedelta(days=number) for number in range(9, LENGTH, 1 if WHOLE else 140)}

    for number, as_of in enumerate(sorted(days | {date(2028, 2, 29)})):
        past = year.past(as_of)
        nursery, plan = year.plan(as_of)
        _check(nursery, plan, past)
        if number % 5 == month % 5:
            _show(nursery, plan)
        year.publish(plan, nursery)


@pytest.mark.parametrize(("place", "month"), PAIRS if WHOLE else SOME)
def test_a_grower_who_logs_each_thing_on_its_day_is_led_through_the_year(
    place: str, month: int, bases: Mapping[str, Nursery]
) -> None:
    year, start = Year(bases[place]), date(2027, month, 13)
    _start(year, start)
    as_of = start + timedelta(days=9)

    while as_of < start + timedelta(days=LENGTH if EVERYWHERE else 180):
        past = year.past(as_of)
        nursery, plan = year.plan(as_of)
        _check(nursery, plan, past)
        if as_of.day == 1:
            _show(nursery, plan)
        year.publish(plan, nursery)
        log_what_is_asked(year, nursery, plan)
        as_of = next_day_that_asks(plan)

    assert not any(lot.count("rooting") for lot in nursery.stock.lots.values())
