"""How a lot hardens off: from its lamp, what was logged of it outside and the kit at hand to its steps. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache, partial
from math import degrees
from typing import Literal

from almanac.forecast.model import Surroundings
from almanac.forecast.ramp import Light, Mild, Stand, Step, Terms, lamp_light, light_of, ramp
from almanac.nursery.lots import Lot
from almanac.plain import dataclass, replace
from almanac.rulebook.models import Duration
from almanac.rulebook.programmes.hardening import Hardening
from almanac.site.light import ClearDay, usual_mj
from almanac.site.place import Place
from almanac.site.sun import SunDay, sun_day

Known = Literal["pots", "bin", "bins", "rule"]
_SECOND, _QUARTER = timedelta(seconds=1), timedelta(minutes=15)


@dataclass(frozen=True, kw_only=True)
class KnownLamp:
    """The light that a lot's plants come from, and who says so.

    `told_by` is "pots" for the lamp of [space], "bin" for that of the bin it rooted in, "bins" for the weakest of all
    where that is not known, and "rule" where the nursery names no lamp at all.
    """

    ppfd: float
    hours: float
    told_by: Known

    @property
    def light(self) -> Light:
        return lamp_light(self.ppfd, self.hours)


@dataclass(frozen=True, kw_only=True)
class Course:
    """The steps of plants in pots: those from the day they were, or are to be, put out as they now stand.

    `used_to` is the light they knew on that day. `out` says that the first step is made; `resumed` that they do not
    begin with the lamp's light but a step back from where they were.
    """

    steps: tuple[Step, ...]
    used_to: Light
    out: bool
    resumed: bool = False

    @property
    def last_day(self) -> date:
        return self.steps[-1].day


def lamp_of(lot: Lot, around: Surroundings) -> KnownLamp:
    """The lamp a lot's plants stand under before they go out."""
    settings = around.settings
    if settings.space.light:
        return KnownLamp(ppfd=settings.space.light.ppfd, hours=settings.space.light.hours, told_by="pots")
    bins = {each.name: each.light for each in settings.places if each.light}
    own = lot.places[-1][1] if lot.places else ""
    if own in bins:
        return _burning(own, around, "bin")
    if bins:
        return min((_burning(name, around, "bins") for name in bins), key=lambda lamp: (lamp.light.dose_mol, lamp.ppfd))
    rule = around.book.programme(Hardening).lamp
    return KnownLamp(ppfd=rule.ppfd, hours=rule.hours, told_by="rule")


def _burning(name: str, around: Surroundings, told_by: Known) -> KnownLamp:
    """A bin's lamp, with the hours last logged."""
    light = next(each.light for each in around.settings.places if each.name == name)
    assert light is not None
    log = around.bins.get(name)
    logged = [hours for _, hours in log.lamp_h if hours > 0] if log else []
    return KnownLamp(ppfd=light.ppfd, hours=logged[-1] if logged else light.hours, told_by=told_by)


def course(lot: Lot, planned: date, lamp: Light, around: Surroundings) -> Course | None:
    """How a lot hardens from the day it was last put out, else from a day planned; None where that comes to nothing.

    Worked out once for lots that stand alike: forecast and plan ask for the same.

    Args:
        lot: with what was logged of it outside
        planned: the day it is to be put out, if it is not out
        lamp: the light it comes from
        around: the rules, the kit and the site
    """
    asked_on = around.as_of if lot.hardening else None  # a scorch heals from the day it is looked at
    key = lot.hardening, lot.hardening_since, None if lot.hardening_since else planned, lamp, asked_on
    found: Course | None = around.ramps.of(key, lambda: _course(lot, planned, lamp, around))
    return found


def _course(lot: Lot, planned: date, lamp: Light, around: Surroundings) -> Course | None:
    rule, terms, good_day = around.book.programme(Hardening), terms_of(around), around.workdays.next
    at: Course | None = None
    went: Course | None = None  # how it stood when it was last brought in
    scorched = brought_in = date.min
    for day, what in lot.hardening:
        if what == "set_out" and at is None:
            kept = went if went and (day - brought_in).days <= rule.kept_for else None
            at = _out(day, kept, brought_in, lamp, terms, good_day)
        elif what == "brought_in" and at is not None:
            at, went, brought_in = None, at, day
        elif what == "scorch" and at is not None:
            scorched = day
            at = _back(at, day, terms, good_day, _healed(day, rule, around.as_of))
        elif what == "all_clear" and at is not None and scorched > date.min:
            at = replace(at, steps=_again(at, terms, good_day, day))
    if lot.hardening_since:
        return at
    kept = went if went and (planned - brought_in).days <= rule.kept_for else None
    return replace(_out(planned, kept, brought_in, lamp, terms, good_day), out=False)


def _out(
    day: date, kept: Course | None, brought_in: date, lamp: Light, terms: Terms, good_day: Callable[[date], date]
) -> Course:
    """Put out on a day: from the lamp's light, or a step back from where it was when it was brought in."""
    if kept is None:
        return Course(steps=ramp(day, lamp, terms, good_day), used_to=lamp, out=True)
    used_to, number = _step_back(kept, brought_in)
    return Course(steps=ramp(day, used_to, terms, good_day, number=number), used_to=used_to, out=True, resumed=True)


def _back(at: Course, day: date, terms: Terms, good_day: Callable[[date], date], healed: date) -> Course:
    used_to, number = _step_back(at, day)
    steps = ramp(day, used_to, terms, good_day, number=number, not_before=healed)
    return Course(steps=steps, used_to=used_to, out=True, resumed=True)


def _again(at: Course, terms: Terms, good_day: Callable[[date], date], healed: date) -> tuple[Step, ...]:
    """The steps after a scorch, on from the day it is over."""
    first = at.steps[0]
    return ramp(first.day, at.used_to, terms, good_day, number=first.number, not_before=healed)


def _step_back(at: Course, day: date) -> tuple[Light, int]:
    """The light of the step before the one that plants were at on a day, and its number."""
    made = [step for step in at.steps if step.day <= day]
    if len(made) < 2:
        return at.used_to, at.steps[0].number
    return made[-2].light, made[-2].number


def _healed(day: date, rule: Hardening, as_of: date) -> date:
    """The first day of the next step after a scorch; not logged as over it goes on, by the week."""
    return max(day + timedelta(days=round(rule.scorch)), as_of + timedelta(days=6 - as_of.weekday()))


def taking(duration: Duration, lot: Lot, set_out: date, around: Surroundings) -> Duration:
    """How long it takes from set out to outside for good: the ramp's days and those of full light before the nights."""
    found = course(lot, set_out, lamp_of(lot, around).light, around)
    nights = around.book.programme(Hardening).nights_after
    days = (found.last_day - set_out).days + nights if found else duration.median
    return replace(duration, median=max(days, 1.0))


def terms_of(around: Surroundings) -> Terms:
    """What a nursery's ramps go by."""
    rule, settings = around.book.programme(Hardening), around.settings
    carry = rule.hours
    return Terms(
        place=settings.place(),
        raise_a_day=rule.raise_a_day,
        most_at_once=rule.most_at_once,
        stands=partial(_stands, rule, around),
        by_clock=settings.hardening.way == "hours",
        mild=partial(mild_hours, rule, around),
        least=timedelta(hours=carry.least),
        new_times_days=max(round(carry.new_times), 1),
    )


def mild_hours(rule: Hardening, around: Surroundings, day: date) -> Mild:
    """The mild hours of a day: well after sunrise until before sunset, sooner in the morning where afternoons are hot.

    Where the sun does not rise or set, or hardly does, those of the clock; on the shortest days those round noon.
    """
    place, carry = around.settings.place(), rule.hours
    start, end = (datetime.combine(day, _clock(at), place.zone) for at in (carry.earliest, carry.latest))
    early = is_hot(rule, around, light_of(place, day))
    sun = _sun(place, day)
    if sun.sunrise:
        warmed = carry.after_sunrise_hot if early else carry.after_sunrise
        start = max(start, sun.sunrise + timedelta(hours=warmed))
    if sun.sunset:
        end = min(end, sun.sunset - timedelta(hours=carry.before_sunset))
    start, end = (_even(moment).astimezone(UTC) for moment in (start + _QUARTER - _SECOND, end))
    if end - start < timedelta(hours=carry.least):
        noon, half = _even(light_of(place, day).noon), timedelta(hours=carry.least)
        start, end = noon - half, noon + half
    return Mild(start=start, end=end, early=early)


def _even(moment: datetime) -> datetime:
    """The last full quarter of an hour."""
    return moment.replace(minute=moment.minute // 15 * 15, second=0, microsecond=0)


@lru_cache(maxsize=2048)
def _sun(place: Place, day: date) -> SunDay:
    return sun_day(place, day)


def _clock(hours: float) -> time:
    minutes = round(hours * 60)
    return time(minutes // 60, minutes % 60)


def _stands(rule: Hardening, around: Surroundings, clear: ClearDay) -> tuple[Stand, ...]:
    """Where plants may stand all day, the darkest first."""
    settings = around.settings.hardening
    full_shade = Stand(kind="full_shade", passes=1 - rule.shade.full)
    between = [] if settings.way == "hours" else _shades(rule, settings.cloths)
    between = [stand for stand in between if full_shade.passes < stand.passes]
    last = Stand(kind="sun", passes=1.0)
    if is_hot(rule, around, clear):
        last = Stand(kind="sun_till_noon", passes=1.0, after_noon=between[-1] if between else full_shade)
    return (full_shade, *between, last)


def _shades(rule: Hardening, cloths: Iterable[float]) -> list[Stand]:
    """Every shade that the cloths at hand give, alone and two over one another, the darkest first."""
    at_hand = sorted(cloths, reverse=True)
    if not at_hand:
        return [Stand(kind="light_shade", passes=1 - rule.shade.light)]
    single = [Stand(kind="cloth", passes=1 - shade, shades=(shade,)) for shade in dict.fromkeys(at_hand)]
    double = []
    if len(at_hand) > 1:
        one, other = at_hand[:2]
        double = [Stand(kind="cloths", passes=(1 - one) * (1 - other), shades=(one, other))]
    return [*double, *single]


def is_hot(rule: Hardening, around: Surroundings, clear: ClearDay) -> bool:
    """Whether a clear afternoon is too hot for young plants in full sun, as far as the site tells."""
    place, day = around.settings.place(), clear.noon.astimezone(around.settings.place().zone).date()
    night = around.frost.usual_low_c(day)
    if night is not None and night >= rule.hot.night:
        return True
    high = 90 - abs(clear.latitude_deg - degrees(clear.declination)) >= rule.hot.sun_deg
    return high and not _cloudy(rule, place, day, clear)


def _cloudy(rule: Hardening, place: Place, day: date, clear: ClearDay) -> bool:
    usual = usual_mj(place, day)
    return usual is not None and usual <= rule.hot.cloudy * clear.radiation_mj
