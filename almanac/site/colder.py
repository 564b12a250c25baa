"""From frost dates of one threshold to colder nights and usual lows, for a source that tells of no other: an estimate.

The usual low is taken to run through the year as one wave. It stands `above_c` over the threshold on the days by which
half of all years have had their first frost and their last; how far it swings follows from the latitude, from how late
in winter the middle of the frosts lies, and from how far their dates spread from year to year. From the wave's twelve
means come tables of any colder threshold, as from monthly lows, with a spread of their own that holds in the depth of
winter. The constants stand in `data/colder.toml`, with the errors to expect; `tests/outside/fit_colder.py` worked them
out from daily records. Pure, but for its constants, read once.

Instead of so many days a degree: one model gives dates, shares of winters, the likely coldest night and the warmth of
spring, in both halves of the earth. It makes the interior of continents too mild in midwinter, and valleys of clear
cold nights (western Oregon, Canberra) too cold in spring; a record or monthly lows do better there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache, lru_cache
from math import cos, log, pi, radians, sqrt
from statistics import NormalDist

from almanac.plain import dataclass
from almanac.site.freeze_year import DAYS_IN_FREEZE_YEAR, Curve, FreezeYear
from almanac.site.frost import FrostTable
from almanac.site.given import SEASONS, MonthDay, MonthlyLowsError
from almanac.site.monthly import from_monthly, shifts_of
from almanac.site.nightly import Constants, shipped_constants
from almanac.site.shipped import shipped_figures

_MONTHS = 12
_TENTH = NormalDist().inv_cdf(0.9)


@dataclass(frozen=True, kw_only=True)
class ColderNights:
    """What the estimate rests on.

    Args:
        above_c: how far the usual low is above the threshold on the middle day of first and of last frosts [°C]
        rare_above_c: how far at least in the coldest month where half of the years have none [°C]
        swing: half the difference of warmest and coldest usual low at the equator, where all the following is 0 [°C]
        swing_per_degree, swing_per_day_late, swing_per_log_spread: what latitude [degrees], the middle of the frosts
            [days after the shortest day], and the logarithm of the days between which four first frosts in ten and four
            last ones fall add to it
        rare_swing_per_degree: what alone tells of it where half of the years have no frost
        least_c, most_c: the swing is never taken for less or more [°C]
        season_sd_c: how far a late winter's or autumn's mean low differs from year to year: s.d. [°C]
        lows_off_c: how far the estimated lows of late winter are off: root mean square [°C]
        tail, tail_per_c: how much the cold end of the spread is shortened, where the coldest month's usual low is at
            0 °C, and how much more for each °C above
        log_sd, log_sd_per_c_below_warmest: as `nightly.Constants`, fitted to colder nights
        error_days: mean error of the day by which one winter in ten has had its first night below a colder threshold
        error_share: mean error of the share of winters with such a night
        source: where all this comes from
    """

    above_c: float
    rare_above_c: float
    swing: float
    swing_per_degree: float
    swing_per_day_late: float
    swing_per_log_spread: float
    rare_swing_per_degree: float
    least_c: float
    most_c: float
    season_sd_c: float
    lows_off_c: float
    tail: float
    tail_per_c: float
    log_sd: float
    log_sd_per_c_below_warmest: float
    error_days: float
    error_share: float
    source: str

    def spread(self, lows_c: Sequence[float]) -> Constants:
        """The constants of monthly tables, with the spread of the depth of winter at such lows."""
        return replace(
            shipped_constants(),
            tail=max(self.tail + self.tail_per_c * min(lows_c), 0.0),
            tail_per_c=0.0,
            tail_per_c_of_range=0.0,
            log_sd=self.log_sd,
            log_sd_per_c_below_warmest=self.log_sd_per_c_below_warmest,
            known_spread_per_c=0.0,
            wider={},
        )


@cache
def shipped_colder() -> ColderNights:
    """The constants that ship with the program; read once."""
    return ColderNights(**shipped_figures("colder.toml"))


def usual_lows(frost: FrostTable, latitude_deg: float, constants: ColderNights | None = None) -> tuple[float, ...]:
    """The mean low of each month, January first, that a place with such frost dates usually has [°C]."""
    constants = constants or shipped_colder()
    middle_of_winter = FreezeYear(frost.southern).index(*((6, 21) if frost.southern else (12, 21)))
    days = frost_days(frost)
    if days is None:  # half of the years have no frost
        swing = _between(constants, constants.rare_swing_per_degree * abs(latitude_deg))
        mean, coldest = frost.threshold_c + constants.rare_above_c + swing, float(middle_of_winter + 25)
    else:
        first, last, spread = days
        coldest = (first + last) / 2
        swing = _between(
            constants,
            constants.swing
            + constants.swing_per_degree * abs(latitude_deg)
            + constants.swing_per_day_late * (coldest - middle_of_winter)
            + constants.swing_per_log_spread * log(max(spread, 1)),
        )
        mean = frost.threshold_c + constants.above_c + swing * cos(pi * (last - first) / DAYS_IN_FREEZE_YEAR)
    return tuple(mean - swing * cos(radians(360 * (day - coldest) / DAYS_IN_FREEZE_YEAR)) for day in _mid_months(frost))


@dataclass(frozen=True)
class Wave:
    """A place's usual lows by month, January first [°C], and how much colder each season behaves by its dates [°C]."""

    lows_c: tuple[float, ...]
    shifts_c: Mapping[str, float]


@lru_cache(maxsize=64)
def wave_of(frost: FrostTable, latitude_deg: float, constants: ColderNights | None = None) -> Wave:
    """The lows of a place: those of its source, or else what its frost dates and its latitude suggest."""
    constants = constants or shipped_colder()
    lows, southern = frost.lows_c or usual_lows(frost, latitude_deg, constants), frost.southern
    known = _middle_dates(frost)
    try:
        shifts = shifts_of(lows, frost.threshold_c, southern, known, constants.spread(lows))
    except MonthlyLowsError:  # the wave fits these dates badly: it is taken as it is
        shifts = dict.fromkeys(SEASONS, 0.0)
    return Wave(lows, shifts)


def colder_nights(
    frost: FrostTable, wave: Wave, threshold_c: float, constants: ColderNights | None = None
) -> FrostTable:
    """The table of a threshold below that of a source; no night of it is likelier than a frost. Always an estimate."""
    constants, southern = constants or shipped_colder(), frost.southern
    spread = constants.spread(wave.lows_c)
    found = from_monthly(wave.lows_c, threshold_c, southern, frost.source, constants=spread, shifts_c=wave.shifts_c)
    found = found.in_doubt(frost.doubt_days)
    return replace(
        found,
        spring=_no_likelier(found.spring, frost.spring),
        autumn=_no_likelier(found.autumn, frost.autumn),
        notes=(),
        lows_c=frost.lows_c,
    )


def _between(constants: ColderNights, swing: float) -> float:
    return min(max(swing, constants.least_c), constants.most_c)


def frost_days(frost: FrostTable) -> tuple[int, int, int] | None:
    """The middle days of first and last frosts, and how many days half of each spread, together; None where rare."""
    firsts = [_day(frost, chance, autumn=True) for chance in (0.5, 0.9)]
    lasts = [_day(frost, chance, autumn=False) for chance in (0.9, 0.5)]
    first, last = firsts[0], lasts[1]
    if first is None or last is None or last <= first:
        return None
    late, early = (DAYS_IN_FREEZE_YEAR - 1 if firsts[1] is None else firsts[1]), lasts[0] or 0
    return first, last, round(_own(late - first, frost) + _own(last - early, frost))


def _own(days: int, frost: FrostTable) -> float:
    """The days between a half and nine tenths of the years, less what doubt has made them wider by."""
    return sqrt(max(days**2 - (_TENTH * frost.doubt_days) ** 2, 0.0))


def _day(frost: FrostTable, chance: float, *, autumn: bool) -> int | None:
    """The day of the freeze year; its end where frost is likelier than that from the start, or to the end."""
    year = FreezeYear(frost.southern)
    found = (frost.date_for_autumn if autumn else frost.date_for_spring)(chance, 2001)
    if found:
        return year.index(found.month, found.day)
    edge = 0 if autumn else DAYS_IN_FREEZE_YEAR - 1
    day = year.date_in(2001, edge)
    return edge if (frost.chance_before(day) if autumn else frost.chance_after(day)) > chance else None


def _middle_dates(frost: FrostTable) -> dict[str, dict[float, MonthDay]]:
    found = {"last_spring": frost.date_for_spring(0.5, 2001), "first_autumn": frost.date_for_autumn(0.5, 2001)}
    return {season: {0.5: (day.month, day.day)} for season, day in found.items() if day}


def _mid_months(frost: FrostTable) -> list[int]:
    return [FreezeYear(frost.southern).index(month, 15) for month in range(1, _MONTHS + 1)]


def _no_likelier(colder: Curve | None, frost: Curve | None) -> Curve | None:
    if colder is None or frost is None:
        return None
    return Curve(tuple((day, min(chance, frost.chance(day))) for day, chance in colder.points))
