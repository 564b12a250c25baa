"""From a station's lows by date to its frost table, with the years it rests on and those left out. Pure.

Chances are read off the sorted dates at Hazen's plotting positions, (rank - 0.5) / years: they lean to neither side, so
that the middle of the record is its 50 % date and the spring and autumn tables of one record agree (Hazen 1914;
compared in Cunnane 1978, Journal of Hydrology 37:205-222). A year without frost ranks before every last frost and after
every first one: the table is of a mixed distribution, and its curve ends at the share of years that have a frost.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from math import sqrt
from statistics import NormalDist, median

from almanac.alike import gathered
from almanac.faults import Fact, Miswritten
from almanac.plain import dataclass
from almanac.site.freeze_year import DAYS_IN_FREEZE_YEAR, Curve, FreezeYear
from almanac.site.frost import FrostTable

_FEWEST_YEARS = 3
_NEARLY_WHOLE = 350  # days of a freeze year that make its frost dates certain enough to learn the frost season from
_MAY_MISS = 3  # days missing in the weeks round the frost dates
_MARGIN = 14  # days before and after the frost dates of other years that must be covered
_TREND_YEARS = 15
_SURE = 0.05


class TooFewYearsError(Miswritten):
    """Not enough of the record covers the frost season."""


@dataclass(frozen=True)
class Season:
    """The frost dates of one side of the year: by freeze year its day, None without a frost.

    `left_out` are the years not counted, each with how many days are missing of how many.
    """

    days: Mapping[int, int | None]
    left_out: Mapping[int, tuple[int, int]]

    def frosts(self) -> list[int]:
        """The days of the years that had a frost, sorted."""
        return sorted(day for day in self.days.values() if day is not None)


@dataclass(kw_only=True)
class _Year:
    seen: bytearray
    first: int | None = None
    last: int | None = None


def frost_table(
    lows: Mapping[date, float],
    threshold_c: float,
    southern: bool,
    source: str,
    years: tuple[int, int] | None = None,
    last: int | None = None,
) -> FrostTable:
    """The frost table of a record.

    Args:
        lows: the lowest temperature of each day [°C]; a day missing is a day not known
        threshold_c: a night at or below it is a frost [°C]
        southern: whether the freeze year starts on 1 February
        source: where the record comes from, in words
        years: the first and last freeze year to use (named by the calendar year they start in)
        last: only the latest so many usable years
    Raises:
        TooFewYearsError: fewer than three years cover their frost season
    """
    every = _years(lows, threshold_c, FreezeYear(southern))
    if years:
        every = {year: found for year, found in every.items() if years[0] <= year <= years[1]}
    spring, autumn = _season(every, spring=True), _season(every, spring=False)
    if last:
        spring, autumn = _latest(spring, last), _latest(autumn, last)
    for name, season in (("spring", spring), ("autumn", autumn)):
        if len(season.days) < _FEWEST_YEARS:
            out = tuple(season.left_out.items())
            raise TooFewYearsError(
                Fact("too_few_years", years=len(season.days), season=name, fewest=_FEWEST_YEARS, left_out=out)
            )
    whole = [year for year in spring.days if year in autumn.days]
    free = [year for year in whole if spring.days[year] is None and autumn.days[year] is None]
    return FrostTable(
        threshold_c=threshold_c,
        southern=southern,
        source=source,
        estimate=False,
        spring=_spring_curve(spring),
        autumn=_autumn_curve(autumn),
        frost_free_share=len(free) / len(whole) if whole else None,
        notes=tuple(_notes(spring, autumn)),
        seasons_days=tuple(_lengths(spring, autumn)),
        lows_c=_monthly_means(lows),
    )


def _monthly_means(lows: Mapping[date, float]) -> tuple[float, ...]:
    """The mean low of each month over the whole record [°C]; nothing where a month is missing."""
    sums, counts = [0.0] * 12, [0] * 12
    for day, low in lows.items():
        sums[day.month - 1] += low
        counts[day.month - 1] += 1
    return tuple(total / count for total, count in zip(sums, counts, strict=True)) if all(counts) else ()


def _years(lows: Mapping[date, float], threshold_c: float, calendar: FreezeYear) -> dict[int, _Year]:
    """Each freeze year: which days are known, and its first and last frost."""
    first_of = [0, *(calendar.index(month, 1) for month in range(1, 13))]  # by month; 29 February counts as the 28th
    start_month = 2 if calendar.southern else 8
    found: dict[int, _Year] = {}
    for day, low in lows.items():
        month = day.month
        number = day.year if month >= start_month else day.year - 1
        year = found.get(number)
        if year is None:
            year = found[number] = _Year(seen=bytearray(DAYS_IN_FREEZE_YEAR))
        index = first_of[month] + (min(day.day, 28) if month == 2 else day.day) - 1
        year.seen[index] = 1
        if low <= threshold_c:
            if year.first is None or index < year.first:
                year.first = index
            if year.last is None or index > year.last:
                year.last = index
    return dict(sorted(found.items()))


def _season(every: Mapping[int, _Year], *, spring: bool) -> Season:
    """The years whose frost season is covered, and why the others are left out.

    The season is learned from the years nearly whole (or, where none is, from all): from the earliest to the latest
    such frost, and two weeks more. A gap in it could hide a frost.
    """
    whole = {number: year for number, year in every.items() if sum(year.seen) >= _NEARLY_WHOLE} or every
    dates = [day for year in whole.values() if (day := year.last if spring else year.first) is not None]
    start = max(min(dates) - _MARGIN, 0) if dates else 0
    end = min(max(dates) + _MARGIN, DAYS_IN_FREEZE_YEAR - 1) if dates else DAYS_IN_FREEZE_YEAR - 1
    allowed = _MAY_MISS if dates else DAYS_IN_FREEZE_YEAR - _NEARLY_WHOLE
    days: dict[int, int | None] = {}
    left_out: dict[int, tuple[int, int]] = {}
    for number, year in every.items():
        missing = end - start + 1 - sum(year.seen[start : end + 1])
        if missing > allowed:
            left_out[number] = missing, end - start + 1
        else:
            days[number] = year.last if spring else year.first
    return Season(days, left_out)


def _latest(season: Season, how_many: int) -> Season:
    kept = sorted(season.days)[-how_many:]
    return Season({year: season.days[year] for year in kept}, season.left_out)


def _ranked(days: Sequence[int], before: int, total: int) -> list[tuple[float, float]]:
    """Each day with Hazen's position, days that fall together at their middle; `before` years rank lower than all."""
    points = gathered((day, (rank - 0.5) / total) for rank, day in enumerate(days, before + 1))
    return [(float(day), sum(positions) / len(positions)) for day, positions in points.items()]


def _spring_curve(season: Season) -> Curve | None:
    """By day, the chance that a frost comes after it."""
    days, total = season.frosts(), len(season.days)
    points = [(day, 1 - position) for day, position in _ranked(days, total - len(days), total)]
    return _curve(points, last=0.5 / total, days=days)


def _autumn_curve(season: Season) -> Curve | None:
    """By day, the chance that a frost has come by then."""
    days, total = season.frosts(), len(season.days)
    return _curve(_ranked(days, 0, total), last=len(days) / total, days=days)


def _curve(points: list[tuple[float, float]], last: float, days: Sequence[int]) -> Curve | None:
    if not days:
        return None
    if len(points) == 1:  # all frosts on one day: the chance turns within the day
        (day, chance), falling = points[0], last < points[0][1]
        points = [(day, chance), (day + 1, min(last, chance) if falling else max(last, chance))]
    return Curve(tuple(points))


def _notes(spring: Season, autumn: Season) -> list[Fact]:
    """What a person should know of the record: its years, those left out, and whether the last ones differ."""
    used = sorted({*spring.days, *autumn.days})
    notes = [Fact("years_of_record", count=len(used), first=used[0], last=used[-1])]
    for name, season in (("spring", spring), ("autumn", autumn)):
        if season.left_out:
            notes.append(Fact("years_left_out", season=name, left_out=tuple(season.left_out.items())))
    for name, season in (("spring", spring), ("autumn", autumn)):
        moved = trend(season)
        if moved:
            notes.append(Fact("trend", season=name, years=_TREND_YEARS, later_days=moved, last=max(season.days)))
    return notes


def trend(season: Season) -> float | None:
    """How many days later the last fifteen years' frosts come than the whole record's, where that is no accident.

    By the rank-sum test of Mann & Whitney (1947, Annals of Mathematical Statistics 18:50-60), normal approximation
    without the correction for ties, the latest years against those before; None where it is not sure at 5 %.
    """
    years = [year for year in sorted(season.days) if season.days[year] is not None]
    recent, before = years[-_TREND_YEARS:], years[:-_TREND_YEARS]
    if len(before) < _TREND_YEARS:
        return None
    new = [day for year in recent if (day := season.days[year]) is not None]
    old = [day for year in before if (day := season.days[year]) is not None]
    larger = sum((a > b) + 0.5 * (a == b) for a in new for b in old)
    n, m = len(new), len(old)
    score = (larger - n * m / 2) / sqrt(n * m * (n + m + 1) / 12)
    if 2 * (1 - NormalDist().cdf(abs(score))) > _SURE:
        return None
    return median(new) - median([*old, *new])


def _lengths(spring: Season, autumn: Season) -> list[int]:
    """Sorted; where a frost is missing on either side, and at most, the season is the whole year."""
    whole, lengths = DAYS_IN_FREEZE_YEAR, []
    for year, last in spring.days.items():
        if year + 1 in autumn.days:
            first = autumn.days[year + 1]
            lengths.append(whole if last is None or first is None else whole - last + first - 1)
    return sorted(min(length, whole) for length in lengths)
