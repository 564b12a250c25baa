"""What cannot be kept, as a sentence with what can be done; which of it is told by now. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import assert_never

from almanac.nursery.settings import WEEKDAYS
from almanac.plan.model import Forced, Plan, PlanWarning, Round
from almanac.plan.room.shortages import NOTICE
from almanac.plan.spaces import Shortage
from almanac.rulebook.models import Where
from almanac.units import both_scales
from almanac.words.dates import day, days, weekday, weekday_in_full
from almanac.words.derivation import warning_of
from almanac.words.lots import named, places_named
from almanac.words.sentences import listed, so_many
from almanac.words.wood import of_number

HELD: Mapping[Where, str] = {"bin": "bag", "tray": "cell", "bed": "stick"}  # what a place of each kind holds
AWAY_PAGES = "stickdate sheet --away helper.pdf"
AWAY_ON_PAGE = "under Chart"


def carried(warning: PlanWarning, near: date) -> str:
    """When a look that was missed is made instead, and what can be done sooner."""
    to = warning.carried_to
    if to is None or to == near:
        return "look today"
    return f"look on {weekday(to, near)}, or ask someone to look sooner"


def near_warnings(plan: Plan, within: int) -> list[PlanWarning]:
    """Warnings of so many days; those without a day of their own always, lack of room a fortnight sooner."""
    until = plan.as_of + timedelta(days=within)
    always = ("standstill", "never_safe", "missed", "refused", "too_late")
    told = [w for w in plan.warnings if w.kind in always or plan.as_of <= w.day <= until]
    return told + [w for w in plan.warnings if w.shortage and until < w.day <= until + NOTICE]


def warning_text(warning: PlanWarning, near: date, away_pages: str = AWAY_PAGES) -> str:
    """One warning as one line; `away_pages` says where the pages for who helps are got."""
    lots = named(warning.lots)
    where = places_named(warning.places)
    bins = f" in {where}" if where else ""
    when = weekday(warning.day, near)
    if warning.kind == "away":
        what = f"to look at {where or lots}" if where or lots else "to do that day's round"
        ask = f"You are away on {when} and it cannot wait: ask someone {what} that day{f' ({lots})' if bins else ''}"
        return f"{ask}; pages for them: {away_pages}."
    if warning.kind == "missed":
        return f"No look logged{bins} on {when} ({lots}): {carried(warning, near)}."
    if warning.forced is not None:
        return off_bench_text(warning, warning.forced, near)
    if warning.kind == "long_round":
        return (
            f"The round of {when} takes {hours(warning.minutes)}, more than you work at the bench on a day ([week] "
            "longest), though all days at home until the next were taken: fewer bags, a helper, or longer days."
        )
    if warning.shortage is not None:
        return shortage_text(warning, warning.shortage, near)
    if warning.kind == "never_stuck":
        return never_stuck_text(warning, near)
    if warning.kind == "too_late":
        return (
            f"{lots}: not logged as set out, and too few weeks are left now before autumn frost to harden off. If they "
            "are out, log it with its day; else keep them in, in good light and free of frost, until spring."
        )
    if warning.derivation is not None:
        return warning_of(warning.derivation, bins.strip(), lots)
    title = warning.milestone.title.lower() if warning.milestone else "the next step"
    if warning.kind == "standstill":
        return f"{lots}: no date for {title}: it stands too cold or too warm for that; see to its mat or its place."
    if warning.milestone and warning.milestone.basis and warning.milestone.basis.nights_too_cold_c is not None:
        night = both_scales(warning.milestone.basis.nights_too_cold_c)
        return (
            f"{lots}: no date for '{title}', frost-free nights are never usually as warm as {night}; "
            "keep it under cover at night, or grow a hardier crop."
        )
    return (
        f"{lots}: no date for '{title}', frost is never as unlikely as you accept; keep it under cover, or accept more."
    )


def never_stuck_text(warning: PlanWarning, near: date) -> str:
    """Lots planned whose season went by, and what can be done."""
    whom = [f"{of_number(each.count, each.number)} for {day(each.day, near)} ({each.row})" for each in warning.planned]
    if len(whom) == 1:
        return f"1 lot planned was never stuck: {whom[0]}. Log it as stuck if it was, or plan it anew."
    then = "Log them as stuck if they were, or plan them anew."
    return f"{len(whom)} lots planned were never stuck: {named(whom)}. {then}"


def off_bench_text(warning: PlanWarning, forced: Forced, near: date) -> str:
    """Rounds that lie off the bench days, what asks for them, and with which bench days none would."""
    told = named([weekday(each, near) for each in warning.days], 3)
    would = listed((listed(weekday_in_full(WEEKDAYS.index(name)) for name in them) for them in warning.would_do), "or")
    several = len(warning.would_do) == 1 and len(warning.would_do[0]) > 1
    remedy = f" With {would} as {'bench days' if several else 'a bench day'} too there would be none." if would else ""
    return f"Off your bench days: {told}. {_cannot_wait(forced, near)}{remedy}"


def forced_text(forced: Forced, near: date) -> str:
    """Why one round lies off the bench days."""
    last = f" (last on {weekday(forced.since, near)})" if forced.since else ""
    return f"Off your bench days: {_cannot_wait(forced, near, last)}"


def _cannot_wait(forced: Forced, near: date, last: str = "") -> str:
    who = forced.lot or places_named(forced.places)
    what = f"'{forced.rule.title}'{f' of {who}' if who else ''}"
    if forced.rule.kind == "look":
        gap = forced.rule.longest_days or forced.rule.every_days or 1
        return f"{what} waits no longer than {days(gap)}{last}."
    return f"{what} waits no longer than {weekday(forced.latest, near)}."


def part_text(each: Round) -> str:
    """Of a round too long for a day, where the rest is; empty of any other."""
    rest = f"the rest on {named([weekday(other, each.day) for other in each.also], 3)}" if each.also else ""
    wait = f"{so_many(each.wait, 'lot')} can wait for the next round" if each.wait else ""
    told = "; ".join(filter(None, (rest, wait)))
    return f"Too long for one day: {told}." if told else ""


def hours(minutes: float) -> str:
    """`9 h`, `4.5 h`."""
    return f"{round(minutes / 30) / 2:g} h"


def shortage_title(warning: PlanWarning) -> str:
    """What is lacking and from when, short enough for a locked phone: `Bin A: up to 6 bags too many, 12 Mar`."""
    assert warning.shortage is not None
    place = "Lamps" if warning.shortage.room.place == "lamps" else _place(warning.shortage)
    return f"{place}: {_lack(warning.shortage)} too many, {day(warning.day)}"


def shortage_text(warning: PlanWarning, shortage: Shortage, near: date) -> str:
    """Where room will be lacking, from when till when, how much, of whom, and what can be done."""
    place = _place(shortage)
    until = f"{'at least ' if shortage.open_ended else ''}{day(shortage.until, near)}"
    mean = f"; {shortage.expected} is what to expect" if 0 < shortage.expected < shortage.up_to else ""
    coming = [f"{of_number(each.count, each.number)} planned for {day(each.day, near)}" for each in shortage.planned]
    who = ", ".join(filter(None, [named(warning.lots, 8), named(coming, 3)]))
    return (
        f"{place} has room for {shortage.room.capacity}: from {weekday(warning.day, near)} to {until} "
        f"{_lack(shortage)} too many{mean}. Then there: {who}. {_remedy(shortage)}"
    )


def _lack(shortage: Shortage) -> str:
    what = f"{HELD[shortage.room.kind] if shortage.room.place == 'bin' else 'pot'}{'s' * (shortage.up_to != 1)}"
    return f"{'' if shortage.expected == shortage.up_to else 'up to '}{shortage.up_to} {what}"


def _place(shortage: Shortage) -> str:
    match shortage.room.place:
        case "bin":
            return f"{shortage.room.kind.capitalize()} {shortage.room.bin}"
        case "shelter":
            return f"Shelter {shortage.room.bin}".rstrip()
        case "lamps":
            return "Under the lamps"
        case "outside":
            return "Outside"
        case _:
            assert_never(shortage.room.place)


def _remedy(shortage: Shortage) -> str:
    """What a grower can do; never to put plants out before their time."""
    later = ", or stick later what is planned" if shortage.planned else ""
    match shortage.room.place:
        case "lamps":
            return (
                f"Sell or give away plants (not protected ones), find more room under light{later}; "
                "frost decides when they go out, not room."
            )
        case "shelter":
            return "Before the cold: find room in another shelter, or sell or give away plants (not protected ones)."
        case "outside":
            return f"Plant out, sell or give away plants (not protected ones), or make more room{later}."
        case "bin":
            return _remedy_in_bin(shortage, later)
        case _:
            assert_never(shortage.room.place)


def _remedy_in_bin(shortage: Shortage, later: str) -> str:
    kind = shortage.room.kind
    free = listed(f"{kind} {name} has room for {places}" for name, places in shortage.elsewhere)
    if kind == "bed":
        return (
            f"Stick {'in another bed' if free else 'closer, or dig more ground'}{f' ({free})' if free else ''}{later}."
        )
    move = f", move {HELD[kind]}s ({free})" if free else f"; no other {kind} has room"
    return f"Pot up what is rooted{move}{later}."
