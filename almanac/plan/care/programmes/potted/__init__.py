"""Plants in pots: the weekly look, feed and the last of it, hot pots, a bigger pot, and last year's for sale. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

from almanac.nursery.lots import Lot
from almanac.plan.care.programme import Programme
from almanac.plan.care.programmes.potted.rests import ahead, looks_through, phases
from almanac.plan.care.programmes.potted.windows import PottedDay, Window, carried_over, seasonal, window
from almanac.plan.care.proposal import Proposal
from almanac.plan.context.day import Context, last_logged
from almanac.plan.context.growing import GrowingYear
from almanac.plan.context.rest import turns, was_outside
from almanac.plan.ids import EntryId
from almanac.plan.model import Look, Task
from almanac.rulebook.programmes.autumn import Autumn
from almanac.rulebook.programmes.potted import Potted
from almanac.site.sun import noon_height_deg

_WEEK = timedelta(days=7)
_HALF_YEAR = timedelta(days=183)
_ALL_YEAR = 365
Years = tuple[GrowingYear, ...]
Season = tuple[str, date, date, str]  # its name, the first and the last day, what the first counts from


def propose(context: Context) -> Proposal:
    """What plants in pots ask for while they grow; before growth, also of those at rest, a bigger pot."""
    lots = [lot for lot in context.stock.lots.values() if lot.count("pot") or lot.count("outside")]
    years = context.years if lots else ()
    numbers = context.book.programme(Potted)
    tasks: list[Task] = []
    looks: list[Look] = []
    for lot in lots:
        if context.asleep(lot):
            tasks += _pot_on(context, lot, years)
            tasks += _offers(context, lot, years)
            continue
        looks += _looks(context, lot, numbers)
        tasks += _windows(context, lot, years, numbers)
        tasks += _decision(context, lot, years)
        if not context.unsure(lot):  # what may be dead is neither fed nor potted on nor sold
            tasks += _feeds(context, lot, years, numbers)
            tasks += _pot_on(context, lot, years)
            tasks += _offers(context, lot, years)
    return Proposal(tasks=tuple(tasks), looks=tuple(looks))


PROGRAMME = Programme(
    numbers=Potted,
    propose=propose,
    derivations=(PottedDay,),
    reads=(Autumn,),
    follows="potting",
)


def _looks(context: Context, lot: Lot, numbers: Potted) -> Iterator[Look]:
    settles = timedelta(days=round(numbers.settles))
    for name in ("pot_look", "outside_look"):
        rule = context.rule(name, lot.crop)
        since = lot.since(rule.while_in) if rule.while_in else None
        if since is None:
            continue
        # Brought in again, or out for another summer, it settled long ago.
        back = was_outside(lot) and (rule.while_in == "pot" or lot.steps["outside"] < since)
        leaves = _leaves(context, lot) if rule.while_in == "pot" else date.max
        for phase in phases(context, lot, since if back else since + settles):
            if not phase.rests:
                yield from looks_through(context, lot, rule, phase, leaves)


def _leaves(context: Context, lot: Lot) -> date:
    """When what is under cover will surely stand outside."""
    out = context.milestones[lot.id].get("outside")
    return out.days[2] + _WEEK if out and out.known is None and out.days else date.max


def _feeds(context: Context, lot: Lot, years: Years, numbers: Potted) -> Iterator[Task]:
    """Feed after feed in the season that is on, or the next; counted from the last one logged in it."""
    season, rest = _season(context, lot, years, numbers), context.at_rest.get(lot.id)
    if season is None or (rest and rest.sleeps(context.as_of)):
        return
    name, begins, ends, counted_from = season
    rule, every = context.book.task("feed"), timedelta(days=round(numbers.feed_every))
    fed = last_logged(lot, "fed")
    day, since = begins, begins
    if fed and fed >= begins - every:
        day, since, counted_from = fed + every, fed, "fed"
    until = min(ends, ahead(context, lot))
    number = max((day - begins) // every, 0) + 1
    while day <= until:
        task_id = EntryId(lot.id, "feed", name).at(number)
        latest = min(day + every / 2, until)  # never slipping into the days without feed
        if latest >= context.as_of:
            yield Task(
                id=task_id,
                rule=rule,
                lots=(lot.id,),
                earliest=day,
                due=day,
                latest=latest,
                counted_from=counted_from,
                since=since,
                step=task_id.step,
                count=lot.count("pot") + lot.count("outside"),
                stage="pot" if lot.count("pot") else "outside",
            )
        day, number = day + every, number + 1


def _season(context: Context, lot: Lot, years: Years, numbers: Potted) -> Season | None:
    """The stretch in which a lot is fed: under cover until hardening, outside until well before frost."""
    out, every = lot.since("outside"), timedelta(days=round(numbers.feed_every))
    return _fed_outside(context, out, years, every) if out else _fed_inside(context, lot, years, numbers)


def _fed_outside(context: Context, out: date, years: Years, every: timedelta) -> Season | None:
    for year in years:
        if year.fed and year.fed[1] - every >= max(context.as_of, out):
            begins = max(year.fed[0], out + every)
            counted_from = "outside" if begins > year.fed[0] else "frost_accepted" if year.safe else "longest_day"
            return str(year.number), begins, year.fed[1] - every, counted_from
    return None


def _fed_inside(context: Context, lot: Lot, years: Years, numbers: Potted) -> Season | None:
    potted, woke = lot.since("pot"), last_logged(lot, "woke")
    if potted is None or lot.hardening_since or (was_outside(lot) and (woke is None or woke < potted)):
        return None
    goes = context.milestones[lot.id].get("set_out")
    rest = timedelta(days=round(numbers.none_before_hardening))
    ends = goes.days[0] - rest if goes and goes.days and goes.known is None else date.max
    if was_outside(lot) and woke:
        begins = woke + timedelta(days=round(numbers.feed_every))
        falls = (day for day, rests, _ in sorted(turns(lot, years, context.stock.crop_signs)) if rests and day > begins)
        return f"in.{woke.year}", begins, min(ends, next(falls, date.max)), "woke"
    return "pot", potted + timedelta(days=round(numbers.first_feed)), ends, "potted"


def _windows(context: Context, lot: Lot, years: Years, numbers: Potted) -> Iterator[Task]:
    rules = context.book.task
    if lot.count("outside"):
        ends = [(year, year.fed[1]) for year in years if year.fed and year.first_frost]
        last = (window(year, rules("last_feed"), day, "first_frost") for year, day in ends)
        yield from seasonal(context, lot, "last_feed", last)
        yield from seasonal(context, lot, "pot_heat", _hot(context, lot, years, numbers))


def _decision(context: Context, lot: Lot, years: Years) -> Iterator[Task]:
    """What becomes of plants that nobody bought: once a year, before it is too late to plant them."""
    if not was_outside(lot):
        return
    rule = context.book.task("unsold")
    ends = (
        window(year, rule, year.first_frost or year.longest + _HALF_YEAR, "first_frost" if year.first_frost else "year")
        for year in years
    )
    yield from seasonal(context, lot, "unsold", ends)


def _pot_on(context: Context, lot: Lot, years: Years) -> Iterator[Task]:
    """A bigger pot before growth; what woke later than expected may have it from then on."""
    if not was_outside(lot):
        return
    rule = context.book.task("pot_on")
    woke = last_logged(lot, "woke") or date.min
    grows = (
        window(year, rule, woke if year.grows < woke < year.longest else year.grows, "growth", spring=True)
        for year in years
        if carried_over(lot, year)
    )
    yield from seasonal(context, lot, "pot_on", grows)


def _offers(context: Context, lot: Lot, years: Years) -> Iterator[Task]:
    """Last year's plants for sale, wherever they stand, as long as any are left; what rests, once it must be awake."""
    if not was_outside(lot):
        return
    rule, rest = context.book.task("offer_again"), context.at_rest.get(lot.id)
    awake = rest.granted if rest and rest.logged else date.min
    found = (
        window(year, rule, year.spring_half or year.grows, "frost_accepted", spring=True)
        for year in years
        if carried_over(lot, year)
    )
    offers = (
        replace(each, earliest=max(each.earliest, awake), due=max(each.due, awake))
        for each in found
        if each.latest > awake
    )
    yield from seasonal(context, lot, "offer_again", offers)


def _hot(context: Context, lot: Lot, years: Years, numbers: Potted) -> Iterator[Window]:
    """When the sun begins to stand high at noon and frost is long gone, or when the lot comes out into such a sun."""
    rule, out = context.book.task("pot_heat"), lot.since("outside") or context.as_of
    for year in years:
        high = timedelta(days=_days_of_high_sun(context, year, numbers))
        if not high or not _warm(context, year, numbers):
            continue
        first = year.longest - high
        if year.safe:
            first = max(first, year.safe + timedelta(days=round(numbers.hot_after_safe)))
        if first < out < year.longest + high:
            yield window(year, rule, out, "outside")
        elif first < year.longest and 2 * high.days < _ALL_YEAR:
            yield window(year, rule, first, "longest_day")


def _days_of_high_sun(context: Context, year: GrowingYear, numbers: Potted) -> int:
    """For how many days before (and after) the longest day the sun stands so high at noon: half a year, if always."""
    low = (
        number
        for number in range(_ALL_YEAR // 2 + 1)
        if noon_height_deg(context.place, year.longest - timedelta(days=number)) < numbers.hot_noon_sun_deg
    )
    return next(low, _ALL_YEAR // 2 + 1)


def _warm(context: Context, year: GrowingYear, numbers: Potted) -> bool:
    """Whether summers are long and, where it is known, warm."""
    monthly = context.around.settings.frost.monthly
    if monthly and monthly.lows[year.longest.month % 12] < numbers.hot_lowest:  # of the month after the longest day
        return False
    if year.half is None or year.spring_half is None:
        return context.around.frost.chance_after(year.longest) <= context.around.settings.frost.accept
    return year.half - year.spring_half >= timedelta(days=round(numbers.hot_season))
