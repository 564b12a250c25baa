"""A milestone as a sentence: logged, settled, or expected; the arithmetic of a forecast. Pure."""

from __future__ import annotations

from datetime import date, timedelta
from math import exp, sqrt

from almanac.forecast.durations import Normal
from almanac.forecast.learning import Learned
from almanac.forecast.model import Basis, Milestone
from almanac.forecast.sums import Sum
from almanac.rulebook.models import Chill
from almanac.units import System, temperature
from almanac.words.dates import day, days, weekday
from almanac.words.sentences import listed, small, so_many

_TOLD_WIDER = 0.1  # how far from the rule's own a spread must be to be worth a line
_USUAL_LOT = 12

ANCHORS = {
    "started": "the day the lot was started",
    "stored": "the day it went into store",
    "stuck": "the day it was stuck",
    "store_early": "the early end of its time in store",
    "store_limit": "the end of its time in store",
    "swelling_likely": "the day buds likely swell in store",
    "planned": "the day planned for sticking",
    "ordered": "the day to ship by, as ordered",
    "promised": "the day it is promised for",
    "shortest_day": "the shortest day",
    "longest_day": "the longest day",
    "frost_accepted": "the day the chance of a later frost is one you accept",
    "first_frost": "the first frosts of autumn",
    "daylight": "the daylight of the week",
    "lamp": "the lamp as it was logged",
    "moved": "the day a lot in leaf was moved here",
    "half_frosts": "the day by which half of all years have had frost",
    "year": "half a year after the longest day",
    "growth": "the time that growth begins",
    "buds_swelling": "the day buds likely swell outdoors",
    "woke": "the day it was seen awake",
    "potting_likely": "the day it is likely potted up",
    "leaf_fall_likely": "the likely leaf fall",
    "collecting": "the day the first dormant wood may be taken",
    "dormant_sale": "the day dormant cuttings are first offered",
}


def anchor(name: str, milestone: Milestone | None) -> str:
    """What a task counts from, in words."""
    return ANCHORS.get(name) or (small(milestone.title) if milestone else name.replace("_", " "))


def told(name: str, milestone: Milestone | None, counted: date, near: date, as_of: date) -> str:
    """Where a date comes from, as one sentence that stays the same until something is logged.

    Args:
        name: what is counted from
        milestone: where that is a milestone
        counted: the day counted from, where it is none
        near: a day of the year meant where none is named; the same whenever it is told
        as_of: the day told on; a forecast gone by is said to be due
    """
    what = anchor(name, milestone)
    if milestone is None:
        return f"Counted from {what}, {day(counted, near)}."
    if milestone.logged:
        seen = f" on {milestone.showing.count} of {milestone.showing.of} cuttings" if milestone.showing else ""
        return f"Counted from {what}, logged {day(milestone.logged, near)}{seen}."
    if milestone.settled:
        by = milestone.settled_by.replace("_", " ")
        return f"Counted from {what}, settled by '{by}' on {day(milestone.settled, near)}."
    if milestone.days is None:
        return f"Counted from {what}, for which there is no date."
    likely, late = milestone.days[1:]
    if milestone.basis and (waits := _waits(milestone.basis)):
        until, why = waits
        ahead = milestone.basis.ahead_days
        when = f"{days(ahead)} before {why} ({day(until, near)})" if ahead else f"when {why}"
        return f"Counted from {what}: not before {day(likely, near)}, {when}."
    when = f"likely {day(likely, near)}" if likely >= as_of else "expected by now"
    return f"Counted from {what}, not logged yet: {when}, 9 in 10 by {day(late, near)}."


def waits_for_frost(milestone: Milestone | None) -> bool:
    """Whether frost or cold nights, and no forecast, put it off to its day."""
    return milestone is not None and milestone.basis is not None and _waits(milestone.basis) is not None


def _waits(basis: Basis) -> tuple[date, str] | None:
    """The day that it waits for longest, and what that day is."""
    if basis.waits_for_nights:
        return basis.waits_for_nights, "nights are usually warm enough"
    return (basis.waits_for_frost, "frost is no likelier than you accept") if basis.waits_for_frost else None


def forecast(milestone: Milestone, as_of: date, *, in_span: str = " ") -> str:
    """`24 Feb, logged` or `3 Mar (25 Feb–14 Mar)`, with `in_span` for the spaces of the latter's span."""
    if milestone.logged:
        return f"{day(milestone.logged, as_of)}, logged"
    if milestone.settled:
        return f"by {day(milestone.settled, as_of)} ({milestone.settled_by.replace('_', ' ')})"
    shown = milestone.shown(as_of)
    if shown is None:
        return "no date"
    if milestone.overdue_on and milestone.overdue(as_of):
        return f"overdue since {day(milestone.overdue_on, as_of)}"
    early, likely, late = shown
    whole = f"({day(early, as_of)}–{day(late, as_of)})".replace(" ", in_span)
    return f"{day(likely, as_of)} {whole}" if early < late else day(likely, as_of)


def arithmetic(milestone: Milestone, system: System, as_of: date) -> list[str]:
    """How a forecast was worked out, line by line."""
    basis = milestone.basis
    if basis is None:
        return []
    lines = [_median(basis, system), *_own_lots(basis)]
    if basis.rest != 1:
        lines.append(f"The buds had cold behind them when it was stuck: {basis.rest:.0%} of those days are left.")
    lines.append(_who(basis))
    if basis.summed:
        lines.append(_sum(basis.summed))
    elif basis.after_day:
        lines.append(f"Counted from {basis.after.replace('_', ' ')} on {weekday(basis.after_day, as_of)}.")
    else:
        lines.append(f"Counted from {basis.after.replace('_', ' ')}, itself a forecast; both spreads add up.")
    if basis.clock != "days":
        lines.append(_warmth(basis))
    if basis.passed_over:
        lines.append(
            "You mostly pot up without logging it, so a look without it says nothing: log it, and its date gets nearer."
        )
    elif basis.known_at > date.min + timedelta(days=1):
        lines.append(f"Not seen at the last look or entry, {weekday(basis.known_at, as_of)}: only later days are left.")
    if basis.waits_for_frost:
        lines.append(f"Waits until frost is no likelier than you accept: {weekday(basis.waits_for_frost, as_of)}.")
    if basis.waits_for_nights:
        lines.append(f"Waits until nights are usually warm enough: {weekday(basis.waits_for_nights, as_of)}.")
    if basis.ahead_days and _waits(basis):
        lines.append(f"By day it begins {days(basis.ahead_days)} before that.")
    if milestone.overdue_on:
        lines.append(f"Overdue after {weekday(milestone.overdue_on, as_of)}, when 95 lots in 100 would have shown it.")
    return lines


def _median(basis: Basis, system: System) -> str:
    rule = basis.duration
    at = f" at {temperature(rule.at, system)}" if rule.at is not None else ""
    spreads = {
        "cuttings": rule.spread,
        "lots": rule.between_lots,
        "varieties": rule.between_varieties,
        "growers": rule.between_growers,
    }
    told = ", ".join(f"{name} {value:.0%}" for name, value in spreads.items() if value)
    return f"The rule: half of all cuttings take {rule.median:g} days{at}; spread between {told or 'none'}."


def chill(rule: Chill) -> str:
    """How the rest of buds gives way to cold."""
    return (
        f"wood cut up to {rule.deep_until} days after the shortest day takes all those days; each week of cold after "
        f"that takes {rule.a_week:.0%} off, until {rule.least:.0%} are left; a day in the cold store counts "
        f"{rule.in_store:g} of one on the plant"
    )


def _own_lots(basis: Basis) -> list[str]:
    """What the grower's own lots say, and the blend of it with the rule."""
    learned, offset = basis.learned, basis.offset
    if learned is None or offset is None:
        return ["Your own lots say nothing of it yet: the rule as it is."]
    waiting = f", {learned.waiting} waiting" if learned.waiting else ""
    potted = f", {learned.potted} by their potting" if learned.potted else ""
    grower = f"{_times(learned.grower.mean)} the rule's days, give or take {_spread(learned.grower)}"
    lines = [f"Your own lots ({learned.finished} with a date{waiting}{potted}): with you it takes {grower}."]
    half = basis.duration.median * exp(offset.mean)
    lines.append(
        f"For this variety, rule and own lots together: half of all cuttings take {half:.1f} days "
        f"({_times(offset.mean)}), lots differ by {_spread(offset)}."
    )
    if learned.held_out:
        names = listed(f"{lot} ({_off(spreads)})" for lot, spreads in learned.held_out.items())
        lines.append(f"Left out, too far off to be believed: {names}. Check the date logged.")
    if learned.potted:
        lines.append(by_potting(so_many(learned.potted, "lot")))
    return [*lines, *learned_from(learned)]


def by_potting(lots: str) -> str:
    """What lots tell of which something on the way to potting was not logged."""
    return (
        f"Of {lots} only what came before and after was logged: those days tell of all that lies between together, and "
        "of each part only what it has of them."
    )


def learned_from(learned: Learned) -> list[str]:
    """What some lots told little or nothing of, and why; how far lots differ where that is unusual."""
    lines = []
    if learned.unlooked:
        lines.append(
            f"{so_many(learned.unlooked, 'lot')} showed it with no look logged shortly before: it may have come long "
            "before it was seen, so such dates are believed where others bear them out."
        )
    if learned.given_up:
        gone = so_many(learned.given_up, "lot")
        lines.append(f"{gone} died or went before it: that says how many strike, and nothing of the days.")
    if abs(learned.wider - 1) >= _TOLD_WIDER:
        way = "more" if learned.wider > 1 else "less"
        lines.append(f"Your lots differ {way} than the rule says, {learned.wider:.1f} times as far: so do the dates.")
    return lines


def _sum(summed: Sum) -> str:
    """That a milestone is forecast by the whole time since sticking."""
    assert summed.learned
    days, spread = exp(summed.log_median(_USUAL_LOT) + summed.learned.grower.mean), _spread(summed.learned.grower)
    return (
        f"Counted from sticking as a whole: with you {days:.0f} days to {summed.end.replace('_', ' ')}, give or take "
        f"{spread}, by {so_many(summed.learned.finished, 'lot')} stuck and {summed.end.replace('_', ' ')}."
    )


def held_out(lot: str, milestone: str, logged: date, spreads: float, as_of: date) -> str:
    """That a lot's date is left out of learning, for those who check their files."""
    return (
        f"{lot}: {milestone.replace('_', ' ')} logged {day(logged, as_of)} is {_off(spreads)} than your other lots and "
        "the rule suggest; forecasts do not learn from it. Check that date"
    )


def _off(spreads: float) -> str:
    return f"{abs(spreads):.1f} spreads {'later' if spreads > 0 else 'sooner'}"


def _times(log_offset: float) -> str:
    return f"{exp(log_offset):.2f} times"


def _spread(offset: Normal) -> str:
    return f"{sqrt(offset.var):.0%}"


def _who(basis: Basis) -> str:
    if basis.of == 1:
        return "One act, or one cutting: the rule's median as it is."
    some = f" Some {basis.rooted:.0%} of them may root with you; only those count." if basis.rooted < 1 else ""
    if basis.share is None:
        return f"The first of {basis.of} cuttings shows it sooner than a single one would.{some}"
    return f"When {basis.share:.0%} of {basis.of} cuttings show it.{some}"


def _warmth(basis: Basis) -> str:
    if basis.rate <= 0:
        where = "store" if basis.clock == "store" else "bin"
        return f"At the {where}'s present warmth it stands still: no date."
    counted = f", {basis.counted:.1f} counted days so far" if basis.after_day else ""
    return f"By the warmth of the {basis.clock} a day counts {basis.rate:.2f} days{counted}."
