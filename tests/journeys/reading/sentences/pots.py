"""From the pot to a second autumn and beyond: looks, feed, rest, waking, sale."""

from __future__ import annotations

import re
from datetime import date, timedelta

from almanac.nursery.lots import Lot
from tests.journeys.reading.read import Read, Walk
from tests.journeys.reading.sentence import Complaints, sentence

OFFERS = ("offer_rooted", "offer_again")


def _asleep(walk: Walk, read: Read, lot: Lot) -> bool:
    """Whether it rests, and the accepted date of the last frost, by which it is taken to be awake, is still to come."""
    safe = walk.spring_safe(read.day)
    return lot.resting and not (safe and lot.signs["resting"].day < safe <= read.day)


def _growing(walk: Walk, day: date) -> bool:
    """Whether it is between the accepted dates of the last frost and the first; always, where it never freezes."""
    safe, first = walk.spring_safe(day), walk.first_frost(day)
    return safe is None or first is None or (safe <= day and (first - safe).days < 300)


@sentence("A pot in growth always has a look to come within nine days.", "common practice: pots are lifted once a week")
def pots_are_looked_at(walk: Walk) -> Complaints:
    for read in walk:
        looks = [(each.day, line.lot) for each in read.plan.rounds for line in each.lines if line.look]
        for lot in read.open_lots if _growing(walk, read.day) else ():
            since = lot.since("outside") or lot.since("pot")
            if since is None or lot.resting or (read.day - since).days < 10:
                continue
            coming = min((day for day, name in looks if name == lot.id), default=None)
            if coming is None or (coming - read.day).days > 9:
                yield read.day, f"{lot.id}, the next look is {coming}"


@sentence("No plant at rest is fed, potted on or offered as in leaf.")
def rest_is_left_alone(walk: Walk) -> Complaints:
    for read in walk:
        for ask in read.asked("feed", "first_feed", "last_feed", "harden_out", "harden", "pot_heat"):
            for lot in ask.lots if ask.fresh else ():
                if read.lot(lot).resting:
                    yield read.day, f"{ask.rule} of {lot}"


@sentence("Nobody is told in high summer that a plant is at rest.", "common practice")
def nobody_rests_in_summer(walk: Walk) -> Complaints:
    for read in walk:
        safe, first = walk.spring_safe(read.day), walk.first_frost(read.day)
        summer = safe and first and (first - safe).days < 300  # of one season: in autumn the next frost is a year off
        if summer and safe and first and (read.day - safe).days > 7 and (first - read.day).days > 60:
            for ask in read.asked("rest_water"):
                yield read.day, f"{ask.lots or ask.bin}: {ask.words.splitlines()[0]}"


@sentence("A plant that rests is asked whether it is awake by the accepted date of the last frost.")
def waking_is_asked_for(walk: Walk) -> Complaints:
    asked: dict[str, date] = {}
    for read in walk:
        for ask in read.asks:
            if re.search(r"\bawake\b|\bwoke\b|waking", ask.words, re.IGNORECASE):
                asked |= dict.fromkeys(ask.lots, read.day)
        for lot in read.open_lots:
            rest = lot.signs.get("resting")
            safe = walk.spring_safe(rest.day + timedelta(days=150)) if rest and lot.resting else None
            if (
                rest
                and safe
                and safe > rest.day
                and (read.day - safe).days > 14
                and asked.get(lot.id, date.min) < safe - timedelta(days=60)
            ):
                yield read.day, f"{lot.id}, at rest since {rest.day}, frost accepted {safe}"


@sentence(
    "What woke, or must have woken, is watered and hardened again: care goes on within a fortnight of the safe date."
)
def care_goes_on_after_rest(walk: Walk) -> Complaints:
    care = {
        "pot_look",
        "outside_look",
        "pot_water",
        "pot_leaves",
        "outside_water",
        "harden_out",
        "harden",
        "harden_nights",
    }
    for read in walk:
        for lot in read.open_lots:
            rest = lot.signs.get("resting")
            if rest is None or not (lot.count("pot") or lot.count("outside")):
                continue
            safe = walk.spring_safe(rest.day + timedelta(days=150))
            if safe and safe > rest.day and 14 < (read.day - safe).days < 100:
                coming = {line.rule.id for each in read.plan.rounds for line in each.lines if line.lot == lot.id}
                coming |= {task.rule.id for task in read.plan.tasks if lot.id in task.lots}
                if not coming & care:
                    yield read.day, f"{lot.id}, at rest since {rest.day}"


@sentence("Pots at rest in the dark are not counted under the lamps.")
def rest_takes_no_lamp(walk: Walk) -> Complaints:
    for read in walk:
        for warning in read.plan.warnings:
            potted = [lot for lot in read.open_lots if lot.count("pot")]
            soon = (warning.day - read.day).days < 14
            if warning.kind == "lamps_full" and soon and potted and all(_asleep(walk, read, lot) for lot in potted):
                yield read.day, "lamps too full of pots at rest"


@sentence(
    "Plants for sale are offered while any are left, through the season of sale.",
    "trade habit: to six weeks after the last frost",
)
def offers_last(walk: Walk) -> Complaints:
    if not walk.habit.sells:
        return
    ended: dict[tuple[str, str], date] = {}
    for read in walk:
        now = {
            (task.rule.id, lot): task.latest for task in read.plan.tasks if task.rule.id in OFFERS for lot in task.lots
        }
        for lot in read.open_lots:
            sold = [row.day for row in read.rows if row.what == "sold" and row.lot == lot.id and row.stage == "outside"]
            for rule in OFFERS:
                until = ended.get((rule, lot.id))
                if until and sold and lot.count("outside") and read.day < until and (rule, lot.id) not in now:
                    yield read.day, f"{rule} of {lot.id} ends with {lot.count('outside')} left, till {until}"
        ended |= {key: until for key, until in now.items() if until >= read.day}


@sentence("What is unsold at the end of its season gets a day to decide: pot on, plant, keep or give away.")
def unsold_gets_a_decision(walk: Walk) -> Complaints:
    words = re.compile(r"\b(keep|give away|given away|yours to keep)\b", re.IGNORECASE)
    decided: dict[str, date] = {}
    for read in walk:
        for ask in read.asks:
            if words.search(ask.words) and "plant_out" not in ask.rule:
                decided |= dict.fromkeys(ask.lots, read.day)
        for lot in read.open_lots:
            since = lot.since("outside")
            # Where the season is long its end, and the day with it, may still be ahead.
            ends = [task.due for task in read.plan.tasks if task.rule.id == "unsold" and lot.id in task.lots]
            if any(day - read.day < timedelta(days=120) for day in ends):
                continue
            if since and 120 < (read.day - since).days < 150 and decided.get(lot.id, date.min) < since:
                ahead = sorted({task.rule.id for task in read.plan.tasks if lot.id in task.lots})
                yield read.day, f"{lot.id}, outside since {since}: ahead {ahead}"


@sentence(
    "Nothing is fed within six weeks before the first frost.",
    "last feed six weeks before frost (published, rules/care/potted.toml)",
)
def no_late_feed(walk: Walk) -> Complaints:
    for read in walk:
        first = walk.first_frost(read.day)
        for ask in read.asked("feed", "first_feed"):
            out = [lot for lot in ask.lots if read.lot(lot).count("outside")]
            if ask.fresh and out and first and (first - read.day).days < 41:
                yield read.day, f"{ask.rule} of {out}, frost may come {first}"


@sentence("Nothing is planted out within six weeks of the first frost.", "common practice")
def no_late_planting(walk: Walk) -> Complaints:
    for read in walk:
        first = walk.first_frost(read.day)
        for ask in read.asked("plant_out"):
            if ask.told == "entry" and first and (first - read.day).days < 42:
                yield read.day, f"{ask.lots}, frost may come {first}"


@sentence("Where frost comes, what stands out in pots gets shelter or a wrap before midwinter.", "amleowinter")
def pots_get_shelter(walk: Walk) -> Complaints:
    if not walk.climate.freezes:
        return
    asked: dict[str, date] = {}
    for read in walk:
        for ask in read.asked("pots_in", "pots_wrap"):
            asked |= dict.fromkeys(ask.lots, read.day)
        middle = walk.climate.midwinter(read.day.year - (read.day.month < 3))
        if 0 <= (middle - read.day).days <= 8:
            for lot in read.open_lots:
                tender = walk.base.book.crops[lot.crop].cold.roots_killed > -8
                table = walk.base.nights.at(walk.base.book.crops[lot.crop].cold.roots_killed)
                comes = table and table.chance_before(middle) > 0.1
                if lot.count("outside") and tender and comes and (read.day - asked.get(lot.id, date.min)).days > 150:
                    yield read.day, lot.id


@sentence("No pot is left without a word: whatever lives has a look or a task to come.")
def nothing_is_forgotten(walk: Walk) -> Complaints:
    for read in walk:
        named = {lot for each in read.plan.rounds for lot in each.lots} | {look.lot for look in read.plan.looks}
        named |= {lot for task in read.plan.tasks if task.latest >= read.day for lot in task.lots}
        for lot in read.open_lots:
            if lot.id not in named:
                yield read.day, f"{lot.id}: {[(each.stage, each.count) for each in lot.cohorts]}"
