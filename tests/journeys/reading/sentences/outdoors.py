"""From the lamp to the sun: hardening off, nights, frost on whatever stands out."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from itertools import pairwise

from almanac.plan.care.programmes.hardening.derivation import Ramp
from almanac.site.sun import sun_day
from tests.journeys.reading.read import Walk
from tests.journeys.reading.sentence import Complaints, sentence

PENN = "psuhard (Penn State Extension, Hardening Transplants)"
OUT_BY_DAY = ("harden_out", "harden")


def _lived_out(walk: Walk) -> Iterator[tuple[str, date]]:
    """Each lot with the first day on which it is told to stay out for good."""
    seen: set[str] = set()
    for read in walk:
        for ask in read.asked("harden_nights"):
            for lot in ask.lots if ask.told == "entry" else ():
                if lot not in seen:
                    seen.add(lot)
                    yield lot, read.day


def _first_out(walk: Walk) -> dict[str, date]:
    """By lot, the first day on which it is told to go out by day."""
    found: dict[str, date] = {}
    for read in walk:
        for ask in read.asked("harden_out"):
            for lot in ask.lots if ask.told == "entry" else ():
                found.setdefault(lot, read.day)
    return found


def _went_out(walk: Walk, lot: str, day: date) -> date | None:
    """The last time up to a day that a lot went out by day, as its grower logged it; None for never."""
    since = (read.nursery.stock.lots[lot].hardening_since for read in walk if lot in read.nursery.stock.lots)
    return max((each for each in since if each and each <= day), default=None)


@sentence("No one lives out before the accepted date of the last frost.")
def nobody_lives_out_before_the_date(walk: Walk) -> Complaints:
    accept = walk.base.settings.frost.accept
    for lot, day in _lived_out(walk):
        if walk.base.frost.chance_after(day) > accept and walk.base.frost.chance_before(day) > accept:
            yield day, f"{lot}: a later frost has {walk.base.frost.chance_after(day):.0%}"


@sentence("No one lives out before usual nights are as warm as the crop wants, where they are known.", PENN)
def nobody_lives_out_in_cold_nights(walk: Walk) -> Complaints:
    for lot, day in _lived_out(walk):
        usual = walk.base.frost.usual_low_c(day)
        wanted = walk.base.book.crops[walk.reads[-1].lot(lot).crop].cold.lowest_night
        if usual is not None and usual < wanted - 0.5:
            yield day, f"{lot}: usual low {usual:.1f} C, wanted {wanted:.1f} C"


@sentence("Plants live out within ten days of the latest of the accepted date, warm nights and the ramp done.")
def living_out_is_not_put_off(walk: Walk) -> Complaints:
    if walk.habit.late or not walk.habit.keeps_up:
        return
    for lot, day in _lived_out(walk):
        crop = walk.base.book.crops[walk.reads[-1].lot(lot).crop]
        safe = walk.spring_safe(day)
        first = _went_out(walk, lot, day)
        waits = [first + timedelta(days=14)] if first else []
        waits += [safe] if safe and safe <= day else []
        if waits:
            latest = max(waits)
            while (low := walk.base.frost.usual_low_c(latest)) is not None and low < crop.cold.lowest_night:
                latest += timedelta(days=1)
            if (day - latest).days > 10:
                yield day, f"{lot}, {(day - latest).days} days after {latest}"


@sentence("Hardening begins about two weeks before living out: not under five days before, nor over 24.", PENN)
def hardening_takes_about_two_weeks(walk: Walk) -> Complaints:
    if walk.habit.late or not walk.habit.keeps_up:
        return
    for lot, day in _lived_out(walk):
        first = _went_out(walk, lot, day)
        if first and not 5 <= (day - first).days <= 24:
            yield day, f"{lot} first out {first}, {(day - first).days} days before"


@sentence(
    "Days come before nights: by day plants go out before the accepted date of the last frost, not after it.", PENN
)
def days_come_before_nights(walk: Walk) -> Complaints:
    for lot, day in _first_out(walk).items():
        read = next(read for read in walk if read.day == day)
        potted, safe = read.lot(lot).since("pot"), walk.spring_safe(day)
        if potted and safe and (safe - potted).days > 35 and day > safe:
            yield day, f"{lot} potted {potted}, frost accepted {safe}"


@sentence("Nobody carries plants out at dawn: not within two hours of sunrise.", f"{PENN}: mild hours")
def never_out_at_dawn(walk: Walk) -> Complaints:
    place = walk.base.place
    for read in walk:
        for ask in read.asked("carry"):
            if ask.task and ask.task.clock:
                rise = sun_day(place, ask.task.due).sunrise
                goes = datetime.combine(ask.task.due, ask.task.clock[0], place.zone)
                if rise and goes < rise + timedelta(hours=2):
                    yield read.day, f"out at {ask.task.clock[0]:%H:%M}, sunrise {rise:%H:%M}"


@sentence("Whoever carries plants out is told so each day until they live out, and rung on going out and coming in.")
def carrying_rings_each_day(walk: Walk) -> Complaints:
    for read in walk:
        rings = {lot for ask in read.asked("carry") if ask.task and ask.task.rings_back for lot in ask.lots}
        lives = {lot: task.earliest for task in read.plan.tasks if task.rule.id == "harden_nights" for lot in task.lots}
        for lot in read.open_lots:
            out = lot.hardening_since is not None and lot.count("pot")
            if out and read.day < lives.get(lot.id, date.min) and lot.id not in rings:
                yield read.day, f"{lot.id}, out since {lot.hardening_since}"


@sentence("Who hardens plants is told to look at tonight's forecast.", PENN)
def forecast_is_looked_at(walk: Walk) -> Complaints:
    for read in walk:
        for ask in read.asked(*OUT_BY_DAY, "harden_nights"):
            if ask.told == "entry" and "forecast" not in ask.words:
                yield read.day, ask.rule


@sentence(
    "While new growth stands out and one year in fifty still freezes, each week has a word of tonight's forecast.",
    "fao2005: new growth dies at about freezing",
)
def frost_is_told_of_what_stands_out(walk: Walk) -> Complaints:
    told = date.min
    for read in walk:
        if "forecast" in read.said:
            told = read.day
        safe = walk.spring_safe(read.day)
        in_leaf = safe is not None and safe - timedelta(days=21) <= read.day
        out = [lot.id for lot in read.open_lots if lot.count("outside") and not lot.resting and in_leaf]
        # Of frosts of this season alone: in August those of the autumn are still to come, and none is near.
        chance = min(walk.base.frost.chance_after(read.day), walk.base.frost.chance_before(read.day))
        since = min((read.lot(lot).since("outside") or read.day for lot in out), default=read.day)
        if out and chance > 0.02 and (read.day - max(told, since)).days > 8:
            yield read.day, f"{out}, a later frost has {chance:.0%}"


@sentence("Before the first frosts of autumn whoever has plants out is told of them.")
def autumn_frost_is_told(walk: Walk) -> Complaints:
    words = re.compile(r"fleece|first frost|frost_ready|forecast", re.IGNORECASE)
    told = date.min
    for read in walk:
        if words.search(read.said):
            told = read.day
        first = walk.first_frost(read.day - timedelta(days=1))
        out = any(lot.count("outside") and not lot.resting for lot in read.open_lots)
        if first and out and (first - read.day).days <= 7 and (read.day - told).days > 30:
            yield read.day, f"first frost {first}"


@sentence("Where it never freezes nobody is told of frost.")
def no_frost_where_it_never_freezes(walk: Walk) -> Complaints:
    if walk.climate.freezes:
        return
    for read in walk:
        for entry in read.entries:
            if re.search(r"frost|fleece", entry.summary, re.IGNORECASE) and "no frost" not in entry.summary.lower():
                yield read.day, entry.summary


@sentence("Nothing is fed while it hardens.", "masonhard: less water, no feed")
def no_feed_while_hardening(walk: Walk) -> Complaints:
    for read in walk:
        for ask in read.asked("feed", "first_feed"):
            for lot in ask.lots if ask.fresh else ():
                here = read.lot(lot)
                if here.hardening_since and not here.count("outside"):
                    yield read.day, f"{lot}, out since {here.hardening_since}"


@sentence(
    "A step of light is never more than two and a half times the light before.", "psuhard: two weeks from shade to sun"
)
def light_rises_gently(walk: Walk) -> Complaints:
    for read in walk:
        steps: dict[tuple[str, ...], list[tuple[date, float, float]]] = {}
        for task in read.plan.tasks:
            if task.rule.id in OUT_BY_DAY and isinstance(ramp := task.derivation, Ramp) and ramp.step:
                found = task.due, ramp.step.light.dose_mol, ramp.used_to.dose_mol  # under the lamp, at first
                steps.setdefault(task.lots, []).append(found)
        for lots, ramp_steps in steps.items():
            for (_, before, used_to), (day, dose, _) in pairwise(sorted(ramp_steps)):
                if dose > 2.6 * max(before, used_to):
                    yield read.day, f"{lots}: {dose:.1f} mol on {day} after {max(before, used_to):.1f}"


@sentence(
    "Plants that stood in pots for six weeks are put out within four weeks of the accepted date, where nights allow it."
)
def pots_are_put_out(walk: Walk) -> Complaints:
    if walk.habit.late or not walk.habit.keeps_up:
        return
    told: set[str] = set()
    for read in walk:
        told |= {lot for ask in read.asked("harden_out", "harden") for lot in ask.lots}
        for lot in read.open_lots:
            since, low = lot.since("pot"), walk.base.frost.usual_low_c(read.day)
            safe, first = walk.spring_safe(read.day), walk.first_frost(read.day)
            night = walk.base.book.crops[lot.crop].cold.lowest_night
            ready = since and (read.day - since).days > 70 and lot.id not in told and not lot.resting
            mild = (not safe or (read.day - safe).days > 28) and (not first or (first - read.day).days > 60)
            if ready and mild and (low is None or low > night + 1):
                yield read.day, f"{lot.id}, {lot.count('pot')} in pots since {since}"
