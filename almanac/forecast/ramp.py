"""From what light plants know to full sun: where they stand outside, step by step, by dose and peak. Pure.

Plants that have had a light for some days bear it raised by a fixed share for each of those days, in its daily dose as
in its peak, but never by more than so many times at once. A step takes them to the lightest place that gives no more
than that under a clear sky; where the next place is too far from the one before, by the clock: in the late afternoon,
or where afternoons are hot in the morning, and never at dawn, when it is coldest. What the date adds to the light is
counted.

Instead of a curve that climbs from the lamp on its own, which would let plants skip a cloth after a week of rest: so
few cloths make hours by the clock, and an interrupted or scorched lot simply begins from the light of an earlier step.
The light is that of a clear sky, the worst it can be. What plants stood under is taken from the plan, as nobody logs a
change of cloth.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from typing import Literal

from almanac.plain import dataclass
from almanac.site.lamp import MOL_PER_PPFD_HOUR
from almanac.site.light import ClearDay, clear_day
from almanac.site.place import Place

_LONGEST = 150  # days after which a ramp is given up: none comes near it, unless a rule file raises next to nothing
_TICK = timedelta(minutes=5)
_DAY = timedelta(days=1)
_TOLERANCE = 1 + 1e-9

Kind = Literal["full_shade", "cloths", "cloth", "light_shade", "sun", "sun_till_noon"]


@dataclass(frozen=True, kw_only=True)
class Light:
    """Light of a day: photons in all [mol m-2 d-1] and at the strongest [µmol m-2 s-1]."""

    dose_mol: float
    peak_ppfd: float

    def times(self, times: float) -> Light:
        """So many times as much."""
        return Light(dose_mol=self.dose_mol * times, peak_ppfd=self.peak_ppfd * times)

    def within(self, most: Light) -> bool:
        """Whether neither dose nor peak is more."""
        return self.dose_mol <= most.dose_mol * _TOLERANCE and self.peak_ppfd <= most.peak_ppfd * _TOLERANCE

    def or_more(self, other: Light) -> Light:
        """The larger dose and the larger peak of two."""
        return Light(dose_mol=max(self.dose_mol, other.dose_mol), peak_ppfd=max(self.peak_ppfd, other.peak_ppfd))


def lamp_light(ppfd: float, hours: float) -> Light:
    """The light under a lamp of so many µmol m-2 s-1 that burns so many hours."""
    return Light(dose_mol=ppfd * hours * MOL_PER_PPFD_HOUR, peak_ppfd=ppfd)


@dataclass(frozen=True, kw_only=True)
class Stand:
    """Where plants stand outside: the share of clear light that reaches them.

    `shades` are those of the cloths over them; `after_noon` is where they stand from the sun's noon on, if elsewhere.
    """

    kind: Kind
    passes: float
    shades: tuple[float, ...] = ()
    after_noon: Stand | None = None

    def light(self, clear: ClearDay) -> Light:
        """What a clear day gives there."""
        later = self.after_noon.passes if self.after_noon else self.passes
        return Light(
            dose_mol=clear.dli_mol * (self.passes + later) / 2,
            peak_ppfd=clear.ppfd(clear.noon) * max(self.passes, later),
        )


@dataclass(frozen=True, kw_only=True)
class Step:
    """From a day on: where to stand, and what light a clear sky gives there on that day.

    `bears` is what the plants then bear, `full` the whole light of the day. With `out` and `back` they stand there
    between these times of the local clock, and for the rest of the day in the shade `rest`, or under cover. `beyond`
    says that even this is more than they bear.
    """

    number: int
    day: date
    stand: Stand
    light: Light
    bears: Light
    full: Light
    out: time | None = None
    back: time | None = None
    rest: Stand | None = None
    beyond: bool = False

    @property
    def timed(self) -> bool:
        return self.out is not None


@dataclass(frozen=True, kw_only=True)
class Mild:
    """The mild hours of a day, in which plants stand out while they still come in; `early`: the gentle end is first."""

    start: datetime
    end: datetime
    early: bool


@dataclass(frozen=True, kw_only=True)
class Terms:
    """What a ramp goes by.

    Args:
        place: where the plants stand
        raise_a_day: the share by which dose and peak may rise a day
        most_at_once: so many times the light before it a step gives at most, however long plants stood there
        stands: by the clear light of a day, where plants may stand all day, the darkest first, the last for good
        by_clock: whether they are carried into the sun for hours instead of standing under ever less shade
        mild: by day, the hours between which plants are carried
        least: a shorter stretch is not worth carrying for
        new_times_days: so long the times stay the same
    """

    place: Place
    raise_a_day: float
    most_at_once: float
    stands: Callable[[ClearDay], tuple[Stand, ...]]
    by_clock: bool
    mild: Callable[[date], Mild]
    least: timedelta
    new_times_days: int

    def borne(self, light: Light, days: int) -> Light:
        """What plants that have had a light for so many days bear."""
        return light.times(min((1 + self.raise_a_day) ** days, self.most_at_once))


def ramp(
    start: date,
    used_to: Light,
    terms: Terms,
    good_day: Callable[[date], date],
    *,
    number: int = 1,
    not_before: date | None = None,
) -> tuple[Step, ...]:
    """The steps from a day on, to the last stand.

    Args:
        start: the first day outside
        used_to: the light the plants know
        terms: what the ramp goes by
        good_day: the first day from one on that suits for moving plants
        number: that of the first step
        not_before: no second step before it
    """
    steps = [_step(number, start, terms.borne(used_to, 1), terms, carried=terms.by_clock)]
    while (found := _next(steps[-1], start, used_to, terms, good_day, not_before)) is not None:
        steps.append(found)
        not_before = None
    return tuple(steps)


@lru_cache(maxsize=2048)
def light_of(place: Place, day: date) -> ClearDay:
    """The clear light of a day; every lot asks for the same few."""
    return clear_day(place, day)


def _next(
    last: Step,
    start: date,
    used_to: Light,
    terms: Terms,
    good_day: Callable[[date], date],
    not_before: date | None,
) -> Step | None:
    """The step after another; None after the last."""
    if not last.timed and last.stand == terms.stands(light_of(terms.place, last.day))[-1]:
        return None
    # Even in a winter too dark to harden in, plants still bear what they came with.
    always = terms.borne(used_to, 1)
    wait = terms.new_times_days if last.timed else 1
    day = max(last.day + timedelta(days=wait), not_before or date.min)
    while (day - start).days <= _LONGEST:
        if last.timed and (change := _clock_change(last.day, day, terms.place)):
            day = change
        if not last.timed:
            day = good_day(day)
        days = (day - last.day).days
        bears = terms.borne(last.light, days).or_more(always)
        at_most = bears == terms.borne(last.light, days + _LONGEST).or_more(always)
        found = _step(last.number + 1, day, bears, terms, carried=terms.by_clock)
        if terms.by_clock or _lighter(found, last):
            return found
        if last.timed or at_most:  # waiting would never bring the next place within reach: for hours it is
            return _step(last.number + 1, day, bears, terms, carried=True)
        day += _DAY
    return None


def _lighter(step: Step, than: Step) -> bool:
    """Whether a step has more light than where plants stood all day, or for the most of it."""
    if step.timed:
        return False
    most = than.rest if than.timed else than.stand
    return most is None or step.stand.passes > most.passes


def _clock_change(after: date, until: date, place: Place) -> date | None:
    """The first day on whose noon the clock stands otherwise than before: times told until then are told anew."""

    def offset(day: date) -> timedelta | None:
        return datetime.combine(day, time(12), place.zone).utcoffset()

    days = (after + timedelta(days=n) for n in range(1, (until - after).days + 1))
    return next((day for day in days if offset(day) != offset(after)), None)


def _step(number: int, day: date, bears: Light, terms: Terms, *, carried: bool) -> Step:
    """The lightest place for a day that gives no more than plants bear; where they are carried, for hours."""
    clear = light_of(terms.place, day)
    stands = terms.stands(clear)
    full = Light(dose_mol=clear.dli_mol, peak_ppfd=clear.ppfd(clear.noon))
    borne = [stand for stand in stands if stand.light(clear).within(bears)]

    def for_hours(stand: Stand, rest: Stand | None, window: _Window, *, beyond: bool = False) -> Step:
        light = _light_between(clear, window, stand.passes, rest.passes if rest else 0.0)
        out, back = (moment.astimezone(terms.place.zone).time() for moment in window)
        return Step(
            number=number,
            day=day,
            stand=stand,
            light=light,
            bears=bears,
            full=full,
            out=out,
            back=back,
            rest=rest,
            beyond=beyond,
        )

    if not borne:
        window = _window(day, clear, stands[0], None, bears, terms)
        last = _moments(day, terms)[-1]
        return for_hours(stands[0], None, window or (last - terms.least, last), beyond=window is None)
    stand = borne[-1]
    if carried and stand != stands[-1]:
        lighter = stands[stands.index(stand) + 1]
        window = _window(day, clear, lighter, stand, bears, terms)
        if window and window[1] - window[0] >= terms.least:
            return for_hours(lighter, stand, window)
    return Step(number=number, day=day, stand=stand, light=stand.light(clear), bears=bears, full=full)


_Window = tuple[datetime, datetime]


def _window(day: date, clear: ClearDay, stand: Stand, rest: Stand | None, bears: Light, terms: Terms) -> _Window | None:
    """The longest stretch at the gentle end of the mild hours that gives no more than plants bear, with the rest.

    Late in the day; where that cannot be, or afternoons are hot, from the first mild hour on.
    """
    rest_passes = rest.passes if rest else 0.0
    lit = _lit(_moments(day, terms), clear)

    def bearable(window: _Window) -> bool:
        return _light_between(clear, window, stand.passes, rest_passes).within(bears)

    mornings = [(lit[0], moment) for moment in lit[1:]]
    evenings = [(moment, lit[-1]) for moment in reversed(lit[:-1])]
    ends = (mornings, evenings) if terms.mild(day).early else (evenings, mornings)
    found = [_longest(windows, bearable) for windows in ends]
    long = [window for window in found if window and window[1] - window[0] >= terms.least]
    return next(iter([*long, *filter(None, found)]), None)


def _longest(windows: Sequence[_Window], bearable: Callable[[_Window], bool]) -> _Window | None:
    """The last that is bearable, of windows each longer than the one before."""
    count = bisect_left(windows, True, key=lambda window: not bearable(window))
    return windows[count - 1] if count else None


def _moments(day: date, terms: Terms) -> list[datetime]:
    """Every five minutes of the hours in which plants are carried."""
    mild = terms.mild(day)
    return [mild.start + n * _TICK for n in range((mild.end - mild.start) // _TICK + 1)]


def _lit(moments: Sequence[datetime], clear: ClearDay) -> Sequence[datetime]:
    """Those in daylight: what is dark lies before and after it."""
    first, last = 0, len(moments)
    while first < last and not clear.ppfd(moments[first]):
        first += 1
    while last > first and not clear.ppfd(moments[last - 1]):
        last -= 1
    return moments[first:last]


def _light_between(clear: ClearDay, window: _Window, passes: float, rest: float) -> Light:
    """The light of a day with a stretch of it in one place, and the rest in another."""
    inside = clear.dose_mol(*window)
    peak = max(clear.peak_ppfd(*window) * passes, clear.ppfd(clear.noon) * rest)
    return Light(dose_mol=inside * passes + (clear.dli_mol - inside) * rest, peak_ppfd=peak)
