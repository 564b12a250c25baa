"""What a year brings to plants in pots at a site: when they wake, may be fed, meet frost, rest. Pure."""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache

from almanac.plain import dataclass
from almanac.rulebook.book import Rulebook
from almanac.rulebook.programmes.autumn import Autumn
from almanac.rulebook.programmes.potted import Potted
from almanac.site.frost import FrostTable
from almanac.site.place import Place
from almanac.site.sun import day_length_at, first_day_length_at_least, first_day_length_below, longest_day

Frosts = tuple[tuple[float, date], ...]  # by chance, the day
_HALF_YEAR = 183
_TOLD = (0.1, 0.5, 0.9)


@dataclass(frozen=True, kw_only=True)
class GrowingYear:
    """A growing season, named by the calendar year of its longest day; None for what the place does not have.

    `safe` is when a later frost is no likelier than accepted, `first_frost` until when frost is no likelier, `half` the
    day by which half of all years have had it, `rests` when leaves are taken to be down, `wakes` when growth is taken
    to begin, `fed` the first and last day of feed. `spring` and `autumn` are frost days by chance.
    """

    number: int
    longest: date
    grows: date
    wakes: date | None
    safe: date | None
    first_frost: date | None
    half: date | None
    rests: date | None
    fed: tuple[date, date] | None
    spring: Frosts
    autumn: Frosts

    @property
    def spring_half(self) -> date | None:
        """The day after which half of all years have no more frost."""
        return dict(self.spring).get(0.5)


def growing_years(
    book: Rulebook, place: Place, frost: FrostTable, accept: float, as_of: date
) -> tuple[GrowingYear, ...]:
    """The seasons round a day: two before, that one, and the next; `accept` is the chance of frost that is accepted."""
    numbers = book.programme(Potted), book.programme(Autumn)
    years = range(as_of.year - 2, as_of.year + 2)
    return tuple(_growing_year(year, place, frost, accept, *numbers) for year in years)


@lru_cache(maxsize=256)
def _growing_year(
    year: int, place: Place, frost: FrostTable, accept: float, potted: Potted, autumn: Autumn
) -> GrowingYear:
    longest = longest_day(place, year)
    even = max(accept, 0.5)
    safe = spring_day(frost, accept, longest)
    first = autumn_day(frost, accept, longest)
    half = autumn_day(frost, even, first) if first else None
    wakes = _wakes(place, longest, safe, autumn) if half else None
    rests = _rests(place, longest, half, autumn) if half else None
    # None where a frost is still likelier than accepted at midsummer.
    fed = _fed(place, longest, safe, first, potted) if safe or frost.chance_after(longest) <= accept else None
    return GrowingYear(
        number=year,
        longest=longest,
        grows=wakes or (fed[0] if fed else longest - timedelta(days=_HALF_YEAR // 2)),
        wakes=wakes,
        safe=safe,
        first_frost=first,
        half=half,
        rests=rests,
        fed=fed,
        spring=tuple((share, day) for share in _TOLD if (day := spring_day(frost, share, longest))),
        autumn=tuple((share, day) for share in _TOLD if (day := autumn_day(frost, share, longest))),
    )


def spring_day(frost: FrostTable, chance: float, longest: date) -> date | None:
    """The day of a chance of later frost in the spring of a season."""
    found = [frost.date_for_spring(chance, year) for year in (longest.year - 1, longest.year, longest.year + 1)]
    return min((day for day in found if day), key=lambda day: abs(day - longest), default=None)


def autumn_day(frost: FrostTable, chance: float, after: date) -> date | None:
    """The first day of a chance that frost has come, on or after a day."""
    found = [frost.date_for_autumn(chance, year) for year in (after.year, after.year + 1)]
    return min((day for day in found if day and day >= after), default=None)


def _wakes(place: Place, longest: date, safe: date | None, numbers: Autumn) -> date | None:
    start = longest - timedelta(days=_HALF_YEAR)
    lengthens = first_day_length_at_least(place, numbers.rest_day_length, start, _HALF_YEAR)
    thaws = safe - timedelta(days=round(numbers.wakes_before_safe)) if safe else None
    return max((day for day in (lengthens, thaws) if day), default=None)


def _rests(place: Place, longest: date, half: date, numbers: Autumn) -> date:
    bare = half + timedelta(days=round(numbers.leaf_fall))
    shortens = first_day_length_below(place, numbers.rest_day_length, longest, _HALF_YEAR)
    return max(bare, shortens) if shortens else bare


def _fed(
    place: Place, longest: date, safe: date | None, first: date | None, numbers: Potted
) -> tuple[date, date] | None:
    """From the accepted frost, or the lengthening day, to so long before the first frost, or the shortening day."""
    start = longest - timedelta(days=_HALF_YEAR)
    hours = numbers.feed_day_length
    begins = safe or first_day_length_at_least(place, hours, start, _HALF_YEAR) or longest
    if first:
        ends = first - timedelta(days=round(numbers.last_feed_before_frost))
    elif day_length_at(place, start) >= hours:
        ends = longest + timedelta(days=_HALF_YEAR)  # no day of the year is too short
    else:
        ends = first_day_length_below(place, hours, longest, _HALF_YEAR) or longest + timedelta(days=_HALF_YEAR)
    return (begins, ends) if ends - begins >= timedelta(days=round(numbers.feed_every)) else None
