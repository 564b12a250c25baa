"""From twelve monthly mean lows to an estimated frost table. Pure, but for constants, read once.

A day's low is taken to lie about a smooth yearly curve that keeps the twelve means, with a spread of its own, and to
resemble the night before (`nightly`). Where winters are mild the cold end of the spread is shortened: there the
coldest nights are less cold than a normal distribution has them. The constants stand in `data/monthly.toml`, with the
errors to expect; `tests/outside/fit_monthly.py` worked them out from stations with long records.

Instead of regressions of dates on means: one model serves every threshold, both hemispheres and places on the edge of
frost, and a known date can correct it. Its errors are large (nine days where nothing but the means is given), as the
spread from day to day differs between places of the same means, most of all where winters are mild.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import pairwise

from almanac.faults import Fact
from almanac.halving import between
from almanac.site.freeze_year import Curve, FreezeYear
from almanac.site.frost import FrostTable
from almanac.site.given import SEASONS, MonthDay, MonthlyLowsError, Season, check_monthly
from almanac.site.nightly import Constants, Year, shipped_constants

MILD_C = 1.0  # coldest month at least this far above the threshold: frost comes on single nights, its dates are vaguer
_FARTHEST_C = 3.0  # a known date that asks for more belongs to another place
_HALVINGS = 12  # of that: to 0.0015 °C
_NEVER = 0.005
_NEARLY_EVERY_YEAR = 0.98


def from_monthly(
    lows_c: Sequence[float],
    threshold_c: float,
    southern: bool,
    source: str,
    daily_sd_c: Sequence[float] | None = None,
    known: Mapping[str, Mapping[float, MonthDay]] | None = None,
    constants: Constants | None = None,
    shifts_c: Mapping[str, float] | None = None,
) -> FrostTable:
    """The frost table that monthly mean lows suggest: always an estimate.

    Args:
        lows_c: mean daily low of each month, January to December [°C]
        threshold_c: a night at or below it is a frost [°C]
        southern: whether the freeze year starts on 1 February
        source: where the lows come from, in words
        daily_sd_c: standard deviation of the daily lows of each month, January to December [°C]; None takes the
            usual one for such means
        known: frost dates known of the place, which the table then goes through: by "last_spring" and
            "first_autumn", (month, day) by chance as in published tables
        constants: those to use; None takes the shipped ones
        shifts_c: how much colder than its means each season is taken to behave, as `shifts_of` tells; with no known
            dates of this threshold
    Raises:
        MonthlyLowsError (a ValueError): all that is wrong with the figures, each with its remedy.
    """
    known = {season: days for season, days in (known or {}).items() if days}
    check_monthly(lows_c, daily_sd_c, known, southern=southern)
    constants = constants or shipped_constants()
    place = Year.of(lows_c, daily_sd_c, threshold_c, southern, constants)
    pegs = _pegs(known, southern)
    shifts = shifts_c or _shifts(place, pegs, constants)
    spring, autumn = place.spring(shifts["last_spring"]), place.autumn(shifts["first_autumn"])
    # Where the seasons are corrected apart, they may tell the share of years with a frost apart: the larger counts.
    has_frost = max(spring[0], autumn[-1])
    freezes = has_frost >= _NEVER
    given = ("default" if daily_sd_c is None else "own", "known", "two_known")[len(known)]
    mild = min(lows_c) - threshold_c >= MILD_C
    return FrostTable(
        threshold_c=threshold_c,
        southern=southern,
        source=source,
        estimate=True,
        spring=_curve(spring, pegs, "last_spring", given, has_frost, constants) if freezes else None,
        autumn=_curve(autumn, pegs, "first_autumn", given, has_frost, constants) if freezes else None,
        frost_free_share=1 - has_frost if freezes else 1.0,
        notes=tuple(_notes(constants, given, mild=mild, free=1 - has_frost)),
        lows_c=tuple(lows_c),
    )


def shifts_of(
    lows_c: Sequence[float],
    threshold_c: float,
    southern: bool,
    known: Mapping[str, Mapping[float, MonthDay]],
    constants: Constants,
) -> dict[str, float]:
    """How much colder than its means each season behaves [°C], by dates known of a threshold; as `from_monthly`."""
    return _shifts(Year.of(lows_c, None, threshold_c, southern, constants), _pegs(known, southern), constants)


def _pegs(known: Mapping[str, Mapping[float, MonthDay]], southern: bool) -> dict[str, dict[float, int]]:
    """By season and chance the day of the freeze year that is known."""
    index = FreezeYear(southern).index
    return {season: {chance: index(*day) for chance, day in days.items()} for season, days in known.items()}


def _shifts(place: Year, pegs: Mapping[str, Mapping[float, int]], constants: Constants) -> dict[str, float]:
    """How much colder than its means each season behaves [°C], told by the known date nearest to the middle."""
    chances: dict[str, Callable[[float, int], float]] = {"last_spring": place.after, "first_autumn": place.by}
    found: dict[str, float] = {}
    for season, days in pegs.items():
        chance = min(days, key=lambda c: abs(c - 0.5))
        found[season] = _shift(chances[season], days[chance], chance, season)
    elsewhere = constants.known_to_other_season * sum(found.values())  # of none, or of the one known
    return {season: found.get(season, elsewhere) for season in SEASONS}


def _shift(chance_of: Callable[[float, int], float], day: int, chance: float, season: str) -> float:
    """By halving: the colder the place, the likelier a frost after a spring day and before an autumn day."""
    low, high = -_FARTHEST_C, _FARTHEST_C
    if not chance_of(low, day) <= chance <= chance_of(high, day):
        raise _misfit(season, chance)
    return between(lambda shift_c: chance_of(shift_c, day) < chance, low, high, _HALVINGS)[1]


def _curve(
    chances: Sequence[float],
    pegs: Mapping[str, Mapping[float, int]],
    season: Season,
    given: str,
    has_frost: float,
    constants: Constants,
) -> Curve:
    """The curve through the days known; where none is known of this season, as wide as comes true."""
    curve = _through(chances, pegs.get(season, {}), season)
    return curve if season in pegs else curve.stretched(constants.wider.get(given, 1.0), has_frost)


def _through(chances: Sequence[float], pegs: Mapping[float, int], season: Season) -> Curve:
    """The curve, moved along the year so that it goes through the days known.

    Between two of them in proportion, before the first and after the last by as much as there.
    """
    moves = sorted((_day_of(chances, chance, season), day) for chance, day in pegs.items())
    points = {_moved(day, moves): min(max(chance, 0.0), 1.0) for day, chance in enumerate(chances)}
    return Curve(tuple(sorted((points | {float(day): chance for chance, day in pegs.items()}).items())))


def _day_of(chances: Sequence[float], chance: float, season: Season) -> float:
    """Where a rising or falling row of chances passes one, in days and their parts."""
    for day, (a, b) in enumerate(pairwise(chances)):
        if a != b and min(a, b) <= chance <= max(a, b):
            return day + (chance - a) / (b - a)
    raise _misfit(season, chance)


def _moved(day: float, moves: Sequence[tuple[float, int]]) -> float:
    if not moves:
        return day
    if day <= moves[0][0]:
        return day + moves[0][1] - moves[0][0]
    for (from_a, to_a), (from_b, to_b) in pairwise(moves):
        if day <= from_b:
            return to_a + (day - from_a) * (to_b - to_a) / (from_b - from_a)
    return day + moves[-1][1] - moves[-1][0]


def _misfit(season: str, chance: float) -> MonthlyLowsError:
    return MonthlyLowsError(Fact("known_misfit", season=season, chance=chance, farthest_c=_FARTHEST_C))


def _notes(constants: Constants, given: str, *, mild: bool, free: float) -> Iterator[Fact]:
    days = (constants.error_days_mild if mild else constants.error_days_cold)[given]
    yield Fact("worked_out_from_lows", given=given, off_days=days)
    if free > 1 - _NEARLY_EVERY_YEAR:
        off = constants.error_share["default" if given == "default" else "own"]
        yield Fact("years_without_frost", share=free, off_share=off)
