"""What is known of a lot's milestones, and the interval that leads to the next: from when, at what pace, of how many.

The forecast runs along it, and learning reads past ones off it. Pure.

Buds have their own clock: they follow the air, and the rest of their wood counted from the shortest day (`chill` in a
crop's bud break), so late wood leafs out weeks before it roots, and leaves settle nothing about roots. Chill units
would need a daily record that few growers have; the date the wood was cut says as much in the one trial found (grape:
17 to 31 days for November to January, 3 to 9 in March). Where no one knows that date, the day the wood came stands for
it. Weeks in the cold store count in part, weeks in the bag not at all, and in the tropics no date counts.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from math import exp, log1p

from almanac.forecast.durations import typical_from
from almanac.forecast.model import Milestone, Showing, Surroundings
from almanac.forecast.thermal import Pace, lot_pace, plain_days
from almanac.nursery.events import EVENTS
from almanac.nursery.lots import BinLog, Lot
from almanac.plain import dataclass, replace
from almanac.rulebook.book import Rulebook
from almanac.rulebook.models import Chill, Clock, Duration, MilestoneRule
from almanac.rulebook.programmes.open_ground import OpenGround
from almanac.rulebook.programmes.store import Store
from almanac.site.nights import Nights
from almanac.site.soil import bed_years


@dataclass(frozen=True, kw_only=True)
class Interval:
    """The way to a milestone: `rest` is the share of the rule's days left to buds whose rest has begun to give way."""

    rule: MilestoneRule
    duration: Duration
    pace: Pace
    of: int
    rest: float = 1.0

    @property
    def clock(self) -> Clock:
        if self.rule.clock == "store":
            return "store" if self.pace.rate != 1.0 else "days"
        return self.rule.clock if self.duration.at is not None else "days"


def is_act(name: str) -> bool:
    """Whether a milestone is something the grower does, not something a cutting shows."""
    return name in EVENTS and EVENTS[name].kind == "step"


def steps(lot: Lot) -> dict[str, Milestone]:
    """The first day of each step; being carried out counts only while it lasts."""
    days = dict(lot.steps)
    if lot.count("pot") and "set_out" in days:
        del days["set_out"]
        if lot.hardening_since:
            days["set_out"] = lot.hardening_since
    if "outside" in days and not lot.count("outside"):
        del days["outside"]
    return {
        name: Milestone(name=name, title=name.replace("_", " ").capitalize(), logged=day)
        for name, day in days.items()
        if name in EVENTS
    }


def known(lot: Lot, rule: MilestoneRule, found: Mapping[str, Milestone]) -> Milestone | None:
    """A milestone that is logged, or settled by a later event; None where it is still to come.

    Args:
        found: the steps, and the milestones before it
    """
    if rule.name in found:
        return Milestone(name=rule.name, title=rule.title, logged=found[rule.name].logged)
    if rule.name in lot.signs:
        sign = lot.signs[rule.name]
        showing = Showing(count=sign.lately[0], of=sign.lately[1]) if sign.lately else None
        return Milestone(name=rule.name, title=rule.title, logged=sign.day, showing=showing)
    for event in rule.settled_by:
        sign_day = lot.signs[event].day if event in lot.signs else None
        job_day = lot.jobs[event][0] if event in lot.jobs else None
        day = sign_day or job_day or (found[event].known if event in found else None)
        if day:
            return Milestone(name=rule.name, title=rule.title, settled=day, settled_by=event)
    return None


def source(lot: Lot, rule: MilestoneRule, found: Mapping[str, Milestone]) -> Milestone | None:
    """The milestone that a rule counts from, the latest of several; None while one of them is out of sight."""

    def came(name: str) -> Milestone | None:
        return Milestone(name=name, title=name, logged=lot.started) if name == "started" else found.get(name)

    before = [came(name) for name in rule.after]
    dated = [milestone for milestone in before if milestone]
    if not dated or len(dated) < len(before):
        return None
    return max(dated, key=lambda milestone: (milestone.window or _NEVER)[1])


_NEVER = (date.max, date.max, date.max)


def interval(lot: Lot, rule: MilestoneRule, duration: Duration, origin: date, around: Surroundings) -> Interval:
    """The way to a milestone from a day on."""
    return Interval(
        rule=rule,
        duration=duration,
        pace=_pace(lot, rule, duration, origin, around),
        of=racing(lot, rule),
        rest=_rest(lot, duration.chill, around) if duration.chill else 1.0,
    )


def racing(lot: Lot, rule: MilestoneRule) -> int:
    """How many cuttings race to be first: an act is done to the lot as one."""
    return 1 if is_act(rule.name) else lot.stuck_count or lot.total


def _pace(lot: Lot, rule: MilestoneRule, duration: Duration, origin: date, around: Surroundings) -> Pace:
    if rule.clock == "store":
        return Pace(((origin, 0.0),), _store_rate(lot.crop, around))
    if rule.clock == "days" or duration.at is None:
        return plain_days(origin)
    crop, of_air = around.book.crops[lot.crop], rule.clock == "air"
    bins = around.bins
    if around.book.methods[lot.method].place == "bed" and around.nights:
        # Every bed of a site is as warm as its year: so also one that nobody named.
        lot, bins = replace(lot, places=((origin, _BED),)), {_BED: _bed(around, around.nights, origin)}
    return lot_pace(lot, origin, crop.air if of_air else crop.base, duration.at, bins, of_air=of_air)


_BED, _BED_YEARS = "", 4


def _bed(around: Surroundings, nights: Nights, origin: date) -> BinLog:
    found = bed_years(nights.usual, origin.year, _BED_YEARS, around.book.programme(OpenGround).soil.depth)
    return BinLog(name=_BED, base_c=found.soil_c, air_c=found.air_c, outdoors=True)


def _store_rate(crop: str, around: Surroundings) -> float:
    """How many days a day in the cold store counts for its buds: 1 where nobody says how warm it is.

    The rule's days hold for the middle of what the crop's store should have.
    """
    warm_c, usual = around.settings.store.temperature, around.book.crops[crop].store
    if warm_c is None:
        return 1.0
    return float(2 ** ((warm_c - (usual.low + usual.high) / 2) / around.book.programme(Store).twice_per))


def _rest(lot: Lot, chill: Chill, around: Surroundings) -> float:
    """How much of the rule's days is left to buds: the longer wood has felt the cold since midwinter, the less.

    Where nobody knows when wood was cut, the day it came stands for it. In the tropics no winter ends the rest.
    """
    cut, stuck = lot.cut_on, lot.first_stuck_on
    midwinter = around.shortest_day(cut)
    if midwinter is None:
        return 1.0
    gives_way = midwinter.toordinal() + chill.deep_until
    on_plant = max(cut.toordinal() - gives_way, 0)
    in_store = max(stuck.toordinal() - max(cut.toordinal(), gives_way), 0)
    weeks = (on_plant + chill.in_store * in_store) / 7
    return max(exp(weeks * log1p(-chill.a_week)), chill.least)


def typical_origin(
    lot: Lot, rule: MilestoneRule, latest: Milestone, found: Mapping[str, Milestone], around: Surroundings
) -> date:
    """The day from which a share of the lot counts: when that share, not only the first, showed what came before."""
    assert latest.known is not None
    before = leading_to(latest, lot, found, around) if rule.share and latest.logged else None
    if before is None or rule.share is None:
        return latest.known
    earlier, duration, origin = before
    sign = lot.signs.get(latest.name)
    of = lot.stuck_count or lot.total
    seen = min((sign.count or 1) + sign.ahead, of) if sign else 1
    return typical_from(latest.known, origin, seen, of, rule.share, duration.spread, around.rooting_of(lot, earlier))


def leading_to(
    milestone: Milestone, lot: Lot, found: Mapping[str, Milestone], around: Surroundings
) -> tuple[MilestoneRule, Duration, date] | None:
    """The rule of a milestone that others count from, its duration, and the day it counts from itself, where known."""
    rule = rule_of(milestone.name, lot, around)
    duration, origin = (around.duration(lot, rule), origin_of(rule, found)) if rule else (None, None)
    return (rule, duration, origin) if rule and duration and origin else None


def rule_of(name: str, lot: Lot, around: Surroundings) -> MilestoneRule | None:
    """The rule of a milestone, by the lot's method."""
    return next((rule for rule in around.book.milestones_for(lot.method) if rule.name == name), None)


def origin_of(rule: MilestoneRule, found: Mapping[str, Milestone]) -> date | None:
    """The day from which a known milestone counted, where all it counts from is known."""
    days = [found[name].known for name in rule.after if name in found]
    certain = [day for day in days if day]
    return max(certain) if certain and len(certain) == len(rule.after) else None


def way_to_potting(method: str, book: Rulebook) -> tuple[MilestoneRule, ...]:
    """The milestones one after another from sticking to potting; none where the method's rules make no such row."""
    rules = {rule.name: rule for rule in book.milestones_for(method)}
    way: list[MilestoneRule] = []
    name = "potted"
    while name in rules and len(rules[name].after) == 1:
        way.insert(0, rules[name])
        [name] = rules[name].after
    return tuple(way) if name == "stuck" else ()
