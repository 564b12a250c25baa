"""Dormant wood: cut, stored, sold, posted, stuck."""

from __future__ import annotations

import re
from datetime import date, timedelta

from almanac.site.holidays import mail_holidays
from tests.journeys.reading.read import Walk
from tests.journeys.reading.sentence import Complaints, sentence

LABELLED = re.compile("label|number on it", re.IGNORECASE)
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@sentence(
    "Wood is cut from bare plants in winter: never within two months of midsummer.", "usfs0624: not once leaves show"
)
def wood_is_cut_in_winter(walk: Walk) -> Complaints:
    middle = walk.climate.midwinter()
    for read in walk:
        for ask in read.asked("take_wood"):
            days = abs((read.day - middle).days) % 365
            if 120 < days < 245:
                yield read.day, ask.words.splitlines()[0]


@sentence("The last post is a post day on which the mail runs.", "common practice: posted Monday to Wednesday")
def last_post_is_a_post_day(walk: Walk) -> Complaints:
    settings = walk.base.settings
    for read in walk:
        for task in read.plan.tasks:
            if task.rule.id == "last_post" and task.due >= read.day:
                country = settings.site.country
                off = mail_holidays(country, "", task.due, task.due) if country else {}
                if WEEKDAYS[task.due.weekday()] not in settings.week.post_days or off:
                    yield read.day, f"{task.due:%a %d %b}"


@sentence("Wood whose buds were seen to swell is neither offered nor posted.", "usfs0624: no longer dormant")
def swollen_wood_stays(walk: Walk) -> Complaints:
    for read in walk:
        for ask in read.asked("offer", "last_post"):
            stored = [
                lot for lot in read.open_lots if lot.crop == (ask.task.crop if ask.task else "") and lot.count("store")
            ]
            if ask.fresh and stored and all("pushing" in lot.signs for lot in stored):
                yield read.day, ask.rule


@sentence("No lot in store is without a word: each has a look, a day or a decision to come.")
def stored_wood_is_not_forgotten(walk: Walk) -> Complaints:
    for read in walk:
        asked = {lot for each in read.plan.rounds for lot in each.lots}
        asked |= {lot for task in read.plan.tasks for lot in task.lots} | {look.lot for look in read.plan.looks}
        for lot in read.open_lots:
            if lot.count("store") and lot.id not in asked:
                yield read.day, lot.id


@sentence(
    "Wood in store is looked through at least every other week by who keeps rounds.", "common practice: mould and buds"
)
def stored_wood_is_looked_at(walk: Walk) -> Complaints:
    if not walk.habit.comes_often:
        return
    for read in walk:
        for lot in read.open_lots:
            entered = lot.since("store")
            if (
                entered
                and lot.id not in read.plan.past_range
                and (read.day - max(lot.looked or entered, entered)).days > 18
            ):
                yield read.day, f"{lot.id} last {lot.looked}"


@sentence("Wood past its time is asked for once a fortnight, not at every round.")
def past_wood_is_asked_for_once_a_fortnight(walk: Walk) -> Complaints:
    last: dict[str, date] = {}
    for read in walk:
        for ask in read.asked("store_past"):
            for lot in ask.lots if ask.told == "entry" else ():
                if lot in last and timedelta(days=0) < read.day - last[lot] < timedelta(days=12):
                    yield read.day, f"{lot}, as on {last[lot]}"
                last[lot] = read.day


@sentence("Nobody is told to sell wood of a protected variety.")
def protected_is_not_offered(walk: Walk) -> Complaints:
    sales = ("offer", "last_post", "offer_rooted", "offer_again")
    for read in walk:
        for ask in read.asked(*sales):
            for lot in ask.lots:
                if read.lot(lot).protected:
                    yield read.day, f"{ask.rule} of {lot}"


@sentence(
    "Wood is labelled where it is cut and where it is stuck.",
    "common practice: a mixed-up variety cannot be told apart",
)
def wood_is_labelled(walk: Walk) -> Complaints:
    for read in walk:
        for ask in read.asked("take_wood", "stick_planned", "stick_wood", "pot_up"):
            if ask.told == "entry" and ask.task and not LABELLED.search(f"{ask.words} {ask.task.rule.checklist}"):
                yield read.day, ask.rule


@sentence("Who takes wood is told how clean blades are kept.", "cdcbleach, usucol2020")
def blades_are_clean(walk: Walk) -> Complaints:
    for read in walk:
        for ask in read.asked("take_wood"):
            if ask.told == "entry" and ask.task and "blade" not in f"{ask.words} {ask.task.rule.checklist}".lower():
                yield read.day, ask.rule


@sentence("A window of wood opens before it closes.")
def windows_open_before_they_close(walk: Walk) -> Complaints:
    for read in walk:
        for task in read.plan.tasks:
            if not task.earliest <= task.due <= task.latest and task.due >= read.day:
                yield read.day, f"{task.id} {task.earliest} {task.due} {task.latest}"
