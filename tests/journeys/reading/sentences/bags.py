"""In the bag: looks, mould, roots, water, weaning, potting up."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, timedelta

from tests.journeys.reading.read import Ask, Read, Walk
from tests.journeys.reading.sentence import Complaints, sentence
from tests.journeys.reading.walk import BUSY

WATER = ("first_water", "water_again", "water", "dry_water")
WEAN = ("wean_loosen", "wean_half", "wean_open")
NO_WATER = "growers' practice: none until roots are seen and leaves are out (common practice)"


def _of_bags(read: Read, *rules: str) -> Iterator[tuple[Ask, str]]:
    """What is freshly asked for of lots in bags."""
    for ask in read.asked(*rules):
        for lot in ask.lots if ask.fresh else ():
            if lot in read.batches and read.lot(lot).count("rooting"):
                yield ask, lot


@sentence("Never water a bag without roots and a leaf.", NO_WATER)
def no_water_without_roots(walk: Walk) -> Complaints:
    for read in walk:
        for ask, lot in _of_bags(read, *WATER):
            if not read.batches[lot].drinking(read.day) and walk.habit.keeps_up:
                yield read.day, f"{ask.rule} of {lot}"


@sentence("Bags left behind are not watered, opened or cooled for roots that others showed.", NO_WATER)
def what_is_left_is_its_own(walk: Walk) -> Complaints:
    for read in walk:
        for ask, lot in _of_bags(read, *WATER, *WEAN, "cool_bin", "off_mat", "pots_ready", "pot_up"):
            grown = read.batches[lot]
            if grown.pots and not grown.showing("roots", read.day) and walk.habit.keeps_up:
                yield read.day, f"{ask.rule} of {lot}, {len(grown.bags)} left without roots"


@sentence("A bag is weaned only once it has roots and leaf.", "common practice: leaf without roots stays shut")
def no_weaning_without_roots(walk: Walk) -> Complaints:
    for read in walk:
        for ask, lot in _of_bags(read, *WEAN):
            if not read.batches[lot].drinking(read.day) and walk.habit.keeps_up:
                yield read.day, f"{ask.rule} of {lot}"


@sentence(
    "Weaning ends at potting: no bag stands open more than ten days before it.", "common practice: 5 to 7 days in steps"
)
def weaning_ends_at_potting(walk: Walk) -> Complaints:
    opened: dict[str, date] = {}
    for read in walk:
        for row in read.rows:
            if row.what == "opened" and row.stage != "pot":
                opened.setdefault(row.lot, row.day)
        for lot, grown in read.batches.items():
            if lot in opened and not grown.pots and (read.day - opened[lot]).days > 10 and walk.habit.keeps_up:
                yield read.day, f"{lot} open since {opened[lot]}"


@sentence("A mat goes off for nobody whose bags still have to root.", "common practice")
def warm_until_rooted(walk: Walk) -> Complaints:
    for read in walk:
        for ask, lot in _of_bags(read, "cool_bin", "off_mat"):
            grown = read.batches[lot]
            if walk.habit.keeps_up and grown.ready(read.day) < len(grown.bags) // 2:
                yield read.day, f"{ask.rule} of {lot}: {grown.ready(read.day)} of {len(grown.bags)} well rooted"


@sentence("Never pot up for leaves alone.", "common practice: several roots of 1 to 2 in on two sides")
def no_potting_for_leaves(walk: Walk) -> Complaints:
    for read in walk:
        for _, lot in _of_bags(read, "pot_up"):
            if walk.habit.keeps_up and not read.batches[lot].showing("roots", read.day):
                yield read.day, lot


@sentence(
    "Who has well-rooted bags is asked within three weeks to pot up, or whether roots are through.",
    "common practice: before they mat",
)
def potting_is_asked_for(walk: Walk) -> Complaints:
    asked: dict[str, date] = {}
    for read in walk:
        for ask in read.asks:
            if ask.rule == "pot_up" or re.search(r"well (through|rooted)|well_rooted|pot (them )?up", ask.words):
                asked |= dict.fromkeys(ask.lots, read.day)
        for lot, grown in read.batches.items():
            half = sorted(each.days["well_rooted"] for each in grown.bags if "well_rooted" in each.days)
            if not half or not read.lot(lot).count("rooting"):
                continue
            since = half[len(half) // 2]
            if (read.day - since).days > 21 and asked.get(lot, date.min) < since:
                yield read.day, f"{lot}, half of it well rooted since {since}"


@sentence("Potting up is not put off from round to round: no bag waits for more than six weeks once it is well rooted.")
def potting_comes(walk: Walk) -> Complaints:
    if not walk.habit.comes_often or walk.habit.late:
        return
    for read in walk:
        for lot, grown in read.batches.items():
            ready = [each for each in grown.bags if each.shows("well_rooted", read.day - timedelta(days=42))]
            if ready:
                yield read.day, f"{lot}: {len(ready)} of {len(grown.bags)} ready for six weeks"


@sentence("A question about late roots is not asked again within a week of its answer.")
def late_roots_are_asked_for_once(walk: Walk) -> Complaints:
    last: dict[tuple[str, str], date] = {}
    for read in walk:
        for ask in read.asked("late_roots", "leaf_no_root", "give_up"):
            for lot in ask.lots:
                before = last.get((ask.rule, lot))
                if before and 0 < (read.day - before).days < 7 and walk.habit.comes_often:
                    yield read.day, f"{ask.rule} of {lot}, as on {before}"
                last[ask.rule, lot] = read.day


@sentence("Nobody digs up callus: the worst bag is tipped out at most four times a season.")
def callus_is_left_alone(walk: Walk) -> Complaints:
    times: dict[str, int] = {}
    for read in walk:
        for ask in read.asked("late_roots"):
            for lot in ask.lots:
                times[lot] = times.get(lot, 0) + 1
                if times[lot] == 5:
                    yield read.day, f"{lot} for the fifth time"


@sentence("Nothing is given up that may yet root: not within 90 days of sticking.", "chalfun2003: read at 90 days")
def nothing_is_given_up_early(walk: Walk) -> Complaints:
    for read in walk:
        for ask in read.asked("give_up"):
            for lot in ask.lots if ask.fresh else ():
                stuck = read.lot(lot).steps.get("stuck")
                if stuck and (read.day - stuck).days < 90:
                    yield read.day, f"{lot}, stuck {stuck}"


@sentence(
    "Sealed bags are looked at every 3 to 7 days by who keeps rounds.",
    "growers look every 3 to 7 days (common practice)",
)
def bags_are_looked_at(walk: Walk) -> Complaints:
    if not walk.habit.comes_often:
        return
    for read in walk:
        for lot, grown in read.batches.items():
            here = read.lot(lot)
            since = here.since("rooting")
            if not since or not grown.bags or read.day - since >= BUSY:
                continue  # who has none left looks at none
            if (read.day - max(here.looked or since, since)).days > 8:
                yield read.day, f"{lot} last looked at {here.looked}"


@sentence(
    "In the weeks of mould a bag is looked at every four days at most.",
    "umassbot: germinates within hours in a wet bag",
)
def mould_weeks_are_looked_at(walk: Walk) -> Complaints:
    if not walk.habit.comes_often:
        return
    for read in walk:
        for lot, grown in read.batches.items():
            here = read.lot(lot)
            age = (read.day - grown.stuck).days
            if (
                4 < age <= 14
                and here.count("rooting")
                and (read.day - max(here.looked or grown.stuck, grown.stuck)).days > 4
            ):
                yield read.day, f"{lot} last looked at {here.looked}"


@sentence("No copper on green: once buds are open mould is wiped.", "soft leaves in a closed bag scorch (from memory)")
def no_copper_on_green(walk: Walk) -> Complaints:
    for read in walk:
        for _, lot in _of_bags(read, "mould_treat"):
            if walk.habit.keeps_up and {"budbreak", "leaves"} & read.lot(lot).signs.keys():
                yield read.day, lot


@sentence("No bag is fed.", "common practice: none in the sealed bag")
def no_feed_in_bags(walk: Walk) -> Complaints:
    for read in walk:
        for ask in read.asked("feed", "first_feed", "last_feed"):
            for lot in ask.lots if ask.fresh else ():
                here = read.lot(lot)
                if here.count("rooting") == here.total:
                    yield read.day, f"{ask.rule} of {lot}"


@sentence("Nobody is asked to look at a card before one was hung.")
def card_is_hung_first(walk: Walk) -> Complaints:
    hung: set[str] = set()
    for read in walk:
        for ask in read.asks:
            if ask.rule in ("gnat_card", "gnat_open", "gnat_traps"):
                hung |= {ask.bin, *(read.lot(lot).bin for lot in ask.lots)}
        for ask in read.asks:
            if ask.told == "look" and re.search(r"\bcard\b", ask.words) and ask.bin and ask.bin not in hung:
                yield read.day, f"{ask.rule} in bin {ask.bin}"


@sentence("A shut bag without roots is never drenched.", "common practice: it rots")
def no_drench_of_shut_bags(walk: Walk) -> Complaints:
    for read in walk:
        for _, lot in _of_bags(read, "gnat_drench", "gnat_nematodes"):
            if "opened" not in read.lot(lot).jobs and not read.lot(lot).count("pot"):
                yield read.day, lot


@sentence("No mat is turned down for being as warm as the crop wants it.")
def probe_agrees_with_the_mat(walk: Walk) -> Complaints:
    for read in walk:
        for ask in read.asks:
            if found := re.search(r"Over ([0-9]+) F[^.]* turn the mat down", ask.words):
                mats = [read.nursery.stock.bins[ask.bin].base_c[-1][1]] if ask.bin in read.nursery.stock.bins else []
                wanted = [
                    read.nursery.book.crops[lot.crop].base.optimum_low for lot in read.open_lots if lot.bin == ask.bin
                ]
                if any(c > (int(found[1]) - 32) / 1.8 for c in [*mats, *wanted]):
                    yield read.day, f"{found[0]} in bin {ask.bin}"


@sentence("A probe is read within three days of sticking on a mat.", "common practice")
def probe_after_sticking(walk: Walk) -> Complaints:
    if not walk.habit.keeps_up:
        return
    asked: dict[str, list[date]] = {}
    for read in walk:
        for ask in read.asks:
            if ask.task and ask.task.rule.logged_as == "temperature" and ask.bin:
                asked.setdefault(ask.bin, []).append(read.day)
    for lot, grown in walk.reads[-1].batches.items():
        place = next(read.lot(lot).bin for read in walk if lot in read.batches)
        if not any(0 <= (day - grown.stuck).days <= 3 for day in asked.get(place, ())):
            yield grown.stuck, f"{lot} in bin {place}"
