"""How long an interval takes, as a log-normal: of one cutting, of the first or a share of a lot, and what is left.

A `Belief` is the rule's own, or the rule's moved by what the grower's lots say; everything after takes one. Pure.

Rules speak of one cutting. The first sign of a lot of twelve comes sooner than that of a lot of two, and a lot is
potted up when half of it is ready: `standing` says where these stand among the lot's cuttings. Of sums of intervals a
log-normal is fitted: exact convolution would be slower and no more true than the figures behind it. Order statistics
and log-normals are own code, not SciPy (see `shares`): `tests/outside/test_forecast.py` holds them against it.
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache
from math import ceil, exp, fsum, hypot, log, sqrt
from statistics import NormalDist

from almanac.forecast.thermal import Pace, plain_days
from almanac.halving import between
from almanac.plain import dataclass
from almanac.rulebook.models import Duration

_NORMAL = NormalDist()
_TEN_TO_NINETY = _NORMAL.inv_cdf(0.9) - _NORMAL.inv_cdf(0.1)


@dataclass(frozen=True, kw_only=True)
class Normal:
    """A normal distribution: mean and variance."""

    mean: float
    var: float


@dataclass(frozen=True, kw_only=True)
class Belief:
    """What is believed of an interval of one cutting: log of its median days, spread within a lot, and between lots."""

    log_median: float
    within: float
    between: float


def believed(duration: Duration, rest: float = 1.0, offset: Normal | None = None, wider: float = 1.0) -> Belief:
    """What is believed of an interval.

    Args:
        duration: the rule
        rest: the share of its days that is left to buds whose rest has begun to give way
        offset: of the lot, by the grower's own lots [log days]; None while they say nothing, and then lots, varieties
            and growers all add to the spread
        wider: how many times as far cuttings of a lot differ as by the rule; the offset has its own share of that
    """
    log_median = log(duration.median * rest)
    if offset is None:
        between = hypot(duration.between_lots, duration.between_varieties, duration.between_growers)
        return Belief(log_median=log_median, within=duration.spread, between=between)
    return Belief(log_median=log_median + offset.mean, within=duration.spread * wider, between=sqrt(offset.var))


EVERY = (1.0,)  # every cutting shows it in the end


@lru_cache(maxsize=4096)
def order_statistic(of: int, share: float | None, rooting: tuple[float, ...] = EVERY) -> tuple[float, float]:
    """Where the first (share None) or the share of a lot stands among its cuttings: normal score and its spread.

    Where not every cutting roots, the first is that of a lot of which some do, and the share one of those that do.
    `rooting` are the shares of a lot that may, each as likely as the others.

    The first of n exactly, from the distribution of a minimum; a share by the median rank (Benard & Bos-Levenbach
    1953, Statistica Neerlandica 7:163-173) and the large-sample spread of an order statistic (David & Nagaraja 2003,
    Order Statistics, section 10.2).
    """
    count = max(of, 1)
    if rooting != EVERY:
        if share is None:
            scores = [_first_of_some(count, rooting, chance) for chance in (0.1, 0.5, 0.9)]
            return scores[1], (scores[2] - scores[0]) / _TEN_TO_NINETY
        count = max(round(count * fsum(rooting) / len(rooting)), 1)
    rank = 1 if share is None else max(ceil(share * count), 1)
    if rank == 1:
        scores = [_NORMAL.inv_cdf(1 - (1 - chance) ** (1 / count)) for chance in (0.1, 0.5, 0.9)]
        return scores[1], (scores[2] - scores[0]) / _TEN_TO_NINETY
    chance = (rank - 0.3) / (count + 0.4)
    score = _NORMAL.inv_cdf(chance)
    return score, min(1.0, sqrt(chance * (1 - chance) / count) / _NORMAL.pdf(score))


def _first_of_some(of: int, rooting: tuple[float, ...], chance: float) -> float:
    """The normal score by which the first of a lot has rooted with a chance, given that any ever does."""
    none = [(1 - share) ** of for share in rooting]
    wanted = chance * fsum(1 - each for each in none)

    def come(score: float) -> float:
        by = _NORMAL.cdf(score)
        return fsum(1 - (1 - share * by) ** of for share in rooting)

    return sum(between(lambda score: come(score) < wanted, -8.0, 8.0, times=40)) / 2


@dataclass(frozen=True, kw_only=True)
class Arrival:
    """When something will come: log-normal in counted days along a pace, known not to have come by `not_by`."""

    pace: Pace
    log_median: float
    sigma: float
    not_by: date

    def day(self, chance: float) -> date | None:
        """The day by which it has come with this chance, given `not_by`; None: never at this pace."""
        passed = self._chance_within(self.pace.counted(self.not_by))
        found = self._unconditional(passed + chance * (1 - passed))
        return max(found, self.not_by) if found else None

    def counted(self, chance: float) -> float:
        """The counted days in which it has come with this chance, whatever is known."""
        return exp(self.log_median + self.sigma * _NORMAL.inv_cdf(chance))

    def overdue(self) -> date | None:
        """The day by which 95 lots in 100 would have shown it."""
        return self._unconditional(0.95)

    def _unconditional(self, chance: float) -> date | None:
        chance = min(max(chance, 1e-9), 1 - 1e-9)
        return self.pace.day(self.counted(chance))

    def _chance_within(self, counted: float) -> float:
        return _NORMAL.cdf((log(counted) - self.log_median) / self.sigma) if counted > 0 else 0.0


def arrival(
    belief: Belief,
    of: int,
    share: float | None,
    pace: Pace,
    not_by: date,
    rooting: tuple[float, ...] = EVERY,
) -> Arrival:
    """When the first (or a share) of `of` cuttings will show it, counted along a pace from its origin."""
    score, uncertainty = order_statistic(of, share, rooting)
    sigma = hypot(belief.between, belief.within * uncertainty)
    return Arrival(
        pace=pace,
        log_median=belief.log_median + belief.within * score,
        sigma=max(sigma, 1e-6),
        not_by=max(not_by, pace.origin),
    )


def after(ends: tuple[date, date, date], second: Arrival) -> Arrival | None:
    """The end of a second interval that starts when a first, not yet over, ends; None if it stands still.

    Means and variances of both add (they are taken as independent), and a log-normal with the sum's is fitted (Fenton
    1960, IRE Transactions on Communications Systems 8:57-67). The first one's come from its 10, 50 and 90 % days
    (Swanson's rule, 0.3 : 0.4 : 0.3; Hurst, Brown & Swanson 2000, AAPG Bulletin 84:1883-1891).

    Args:
        ends: the 10, 50 and 90 % days of the first interval's end
        second: the second interval, its pace starting on the day from which days are to be counted
    """
    start, rate = second.pace.origin, second.pace.rate
    along = plain_days(start)
    if second.pace.seasonal:  # its days differ by season, so both are added in counted days
        along, rate = second.pace, 1.0
    if rate <= 0:
        return None
    # What has ended starts the second at once.
    low, middle, high = (max(along.counted(end), 0.0) for end in ends)
    mean = 0.3 * low + 0.4 * middle + 0.3 * high
    variance = 0.3 * low**2 + 0.4 * middle**2 + 0.3 * high**2 - mean**2
    own_mean = exp(second.log_median + second.sigma**2 / 2)
    mean += own_mean / rate
    variance += own_mean**2 * (exp(second.sigma**2) - 1) / rate**2
    sigma2 = log(1 + variance / mean**2)
    return Arrival(pace=along, log_median=log(mean) - sigma2 / 2, sigma=max(sqrt(sigma2), 1e-6), not_by=second.not_by)


def typical_from(
    day: date,
    origin: date,
    seen: int,
    of: int,
    share: float,
    within: float,
    rooting: tuple[float, ...] = EVERY,
) -> date:
    """When a share of a lot shows what `seen` of its cuttings showed on a day, counted from an origin.

    Cuttings of a lot differ by `within` in the log of their days, so the ratio of two order statistics is known.
    """
    seen_share = seen / max(of, 1)
    shown = order_statistic(of, None if seen <= 1 else seen_share, rooting if seen <= 1 else EVERY)[0]
    wanted = order_statistic(of, share, rooting)[0]
    if wanted <= shown:
        return day
    return day + timedelta(days=round((day - origin).days * (exp(within * (wanted - shown)) - 1)))
