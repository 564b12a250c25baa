"""What holds of every day, whatever stands in the nursery."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

from almanac.nursery.events import EVENTS, STAGES
from almanac.rulebook.models import SITE_DAYS
from almanac.words.tasks import LOCK_SCREEN
from tests.journeys.reading.read import Ask, Walk
from tests.journeys.reading.sentence import Complaints, sentence

NEVER = tomllib.loads((Path(__file__).parents[3] / "never_said.toml").read_text(encoding="utf-8"))["never"]
_NEVER = [(re.compile(each["says"]), each["why"]) for each in NEVER]
# Of one lot on one day, the rules of one side never stand beside those of the other.
OPPOSED = (
    ({"first_water", "water_again", "water", "dry_water"}, {"wet_bag", "leaf_no_root", "give_up"}),
    ({"wean_loosen", "wean_half", "wean_open", "uncover"}, {"wilt_back", "gnat_cull", "give_up", "leaf_no_root"}),
    ({"wean_loosen", "wean_half", "wean_open"}, {"late_roots"}),
    ({"first_feed", "feed"}, {"harden_out", "harden", "harden_nights", "wet_bag", "wilt_back", "rest_water"}),
    ({"mould_treat"}, {"light", "first_water", "wean_loosen", "pot_up"}),
    ({"pot_up", "pots_ready"}, {"late_roots", "give_up"}),
    ({"pot_up"}, {"leaf_no_root"}),
    ({"harden_out"}, {"bring_in", "wilt_back", "scorch"}),
)


@sentence("Nothing is ever said that a propagator must never say.")
def never_said(walk: Walk) -> Complaints:
    for number, read in enumerate(walk):
        words = f"{read.said}\n{read.shown}" if number % 12 == 6 else read.said
        for pattern, why in _NEVER:
            if found := pattern.search(words):
                yield read.day, f"{found[0]!r}: {why}"


@sentence(
    "One lot is never told opposite things on one day: wet and dry, shut and open, feed and rest, give up and go on."
)
def one_voice(walk: Walk) -> Complaints:
    for read in walk:
        for lot in read.open_lots:
            for stage in STAGES:  # what is right for a bag is another thing for the pots of its lot
                rules = {ask.rule for ask in read.of_lot(lot.id) if ask.fresh and ask.stage in ("", stage)}
                for one, other in OPPOSED:
                    if rules & one and rules & other:
                        yield read.day, f"{lot.id} in {stage}: {rules & one} beside {rules & other}"


@sentence("Nothing stands twice on one day's list.")
def once_a_day(walk: Walk) -> Complaints:
    for read in walk:
        asked = Counter((ask.rule, lot) for ask in read.asks if ask.fresh for lot in ask.lots or (ask.bin,))
        for (rule, lot), times in asked.items():
            if times > 1 and lot and rule not in ("harden", "harden_out"):
                yield read.day, f"{rule} of {lot} {times} times"


@sentence("One frost date is one entry, however many crops it holds for.")
def frost_is_told_once(walk: Walk) -> Complaints:
    for read in walk:
        days = Counter((task.rule.id, task.due) for task in read.plan.tasks if task.rule.id in SITE_DAYS)
        for (rule, day), times in days.items():
            if times > 1:
                yield read.day, f"{rule} on {day}, {times} entries"


@sentence("No one is sent to plants that are not there.")
def stage_is_there(walk: Walk) -> Complaints:
    for read in walk:
        for ask in read.asks:
            task = ask.task
            stage = task.rule if task else ask.look.rule if ask.look else None
            if stage and stage.while_in and ask.fresh and not (task and (task.to_come or task.guessed)):
                for name in ask.lots:
                    if name in read.nursery.stock.lots and not read.lot(name).count(stage.while_in):
                        yield read.day, f"{ask.rule} of {name}, none in {stage.while_in}"


@sentence("No line asks for more of a lot than there is.")
def count_is_there(walk: Walk) -> Complaints:
    for read in walk:
        for ask in read.asks:
            task, lots = ask.task, [lot for lot in ask.lots if lot in read.nursery.stock.lots]
            if task and not task.to_come and len(lots) == 1 and task.count > read.lot(lots[0]).total:
                yield read.day, f"{ask.rule}: {task.count} of {lots[0]}"


@sentence("What is asked for can be logged, by a word that the logbook knows.")
def can_be_logged(walk: Walk) -> Complaints:
    for read in walk:
        for what in set(re.findall(r"stickdate log ([a-z_]+)", read.said)):
            if what not in EVENTS:
                yield read.day, what


@sentence("A title fits a locked phone, and nothing of it is cut off.")
def fits_a_locked_phone(walk: Walk) -> Complaints:
    for read in walk:
        for entry in read.entries:
            if len(entry.summary) > LOCK_SCREEN or entry.summary.endswith("…"):
                yield read.day, entry.summary


@sentence("Plants are called by their names, not by what files call them.")
def names_of_plants(walk: Walk) -> Complaints:
    for read in walk:
        for entry in read.entries:
            if re.search(r"[a-z]_[a-z]", entry.summary):
                yield read.day, entry.summary


@sentence("Two bench days a week stay two: nobody comes on another day while nothing is treated and nothing is late.")
def bench_days_are_kept(walk: Walk) -> Complaints:
    for read in walk:
        if read.round and not read.round.on_bench_day and not read.round.makes_up and not _pressing(read.asks):
            yield read.day, f"{read.day:%A}: {sorted({ask.rule for ask in read.asks if ask.fresh})}"


def _pressing(asks: tuple[Ask, ...]) -> bool:
    """What cannot wait for a bench day: trouble, treatment, and wood whose buds swell."""
    troubles = {"wilt", "mould", "rot", "gnats", "wet", "dry", "scorch"}
    about = {
        ask.task.counted_from if ask.task else ask.look.counted_from if ask.look else "" for ask in asks if ask.fresh
    }
    kinds = {ask.task.rule.kind for ask in asks if ask.task and ask.fresh}
    return bool(about & troubles) or "treat" in kinds or bool({ask.rule for ask in asks} & {"pushing_store"})


@sentence("A holiday off is a day off, while nothing is treated.")
def holidays_are_off(walk: Walk) -> Complaints:
    week = {"mon": 0, "tue": 1, "wed": 2, "thu": 3, "fri": 4, "sat": 5, "sun": 6}
    for read in walk:
        days = {week[day] for day in read.nursery.settings.week.bench_days}
        holiday = read.day.weekday() in days and read.round and not read.round.on_bench_day
        if holiday and not _pressing(read.asks) and read.round and not read.round.makes_up:
            yield read.day, sorted({ask.rule for ask in read.asks if ask.fresh})


@sentence("A grower of two dozen plants works no more than two hours a round.")
def rounds_are_short(walk: Walk) -> Complaints:
    for read in walk:
        if read.round and walk.habit.comes_often:
            now = replace(read.round, lines=tuple(line for line in read.round.lines if line.late_since is None))
            if now.minutes > 120:
                yield read.day, f"{now.minutes:.0f} min"


@sentence("What a round asked for and was done is not asked for again within three days.")
def answered_is_done(walk: Walk) -> Complaints:
    last: dict[tuple[str, str], date] = {}
    if not walk.habit.comes_often:
        return
    for read in walk:
        for ask in read.asks:
            if ask.told == "job" and ask.task and ask.task.rule.logged_as in ("noted", "looked"):
                for lot in ask.lots:
                    before = last.get((ask.rule, lot))
                    if before and read.day - before <= timedelta(days=3) and read.day != before:
                        yield read.day, f"{ask.rule} of {lot}, as on {before}"
                    last[ask.rule, lot] = read.day
