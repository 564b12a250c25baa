"""What the grower's own lots teach, against direct integration, exact grids and SciPy's censored log-normal fit."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
import pytest
from scipy import integrate, stats

from almanac.forecast.durations import Normal
from almanac.forecast.learning import Learned, learn
from almanac.forecast.timing import Timing, Word
from tests.outside.exact_learning import MEDIAN_DAYS, Array, Exact, Spreads, likelihood, normed, rule_with

USUAL = Spreads()


def believed_of(timings: Sequence[Timing], learned: Learned) -> list[Timing]:
    """The lots not held out."""
    return [timing for timing in timings if timing.lot not in learned.held_out]


def draw_lots(
    rng: np.random.Generator, number: int, seen_as: Callable[[np.random.Generator, str, str, Array], Timing]
) -> list[Timing]:
    """Lots of a drawn grower with three drawn varieties, by the model's own levels; `seen_as` tells what is logged."""
    grower = rng.normal(0, USUAL.growers)
    varieties = grower + rng.normal(0, USUAL.varieties, 3)
    found = []
    for lot in range(number):
        variety = int(rng.integers(3))
        offset = varieties[variety] + rng.normal(0, USUAL.lots)
        of = int(rng.choice([1, 6, 12, 24]))
        times = np.sort(offset + USUAL.within * rng.normal(size=of))
        found.append(seen_as(rng, f"{variety}{lot}", f"v{variety}", times))
    return found


# --- one cutting a lot, and the day is known: closed-form --------------------------------------------------------


def to_the_day(lot: str, variety: str, time: float) -> Timing:
    return Timing(lot=lot, variety=variety, low=time, high=time)


def test_two_lots_of_a_single_cutting_teach_what_direct_integration_says() -> None:
    # SciPy's quadrature (scipy.integrate.dblquad) over grower and variety of prior times likelihood, both lots of one
    # variety, the lots' own offsets added to their noise.
    seen = (0.31, -0.12)
    noise = math.hypot(USUAL.lots, USUAL.within)

    def weighted(what: Callable[[float, float], float]) -> float:
        def density(variety: float, grower: float) -> float:
            height = stats_normal(grower, USUAL.growers) * stats_normal(variety - grower, USUAL.varieties)
            return what(grower, variety) * height * math.prod(stats_normal(time - variety, noise) for time in seen)

        return float(integrate.dblquad(density, -2.5, 2.5, -2.0, 2.0, epsabs=1e-11, epsrel=1e-11)[0])

    whole = weighted(lambda _grower, _variety: 1.0)
    mean = weighted(lambda grower, _: grower) / whole
    spread2 = weighted(lambda grower, _: (grower - mean) ** 2) / whole
    of_variety = weighted(lambda _, variety: variety) / whole
    variety_spread2 = weighted(lambda _, variety: (variety - of_variety) ** 2) / whole

    learned = learn([to_the_day("7a", "7", seen[0]), to_the_day("7b", "7", seen[1])], rule_with(USUAL))

    assert learned.grower.mean == pytest.approx(mean, abs=1e-6)
    assert learned.grower.var == pytest.approx(spread2, abs=1e-6)
    assert learned.offset("7c", "7").mean == pytest.approx(of_variety, abs=1e-6)
    assert learned.offset("7c", "7").var == pytest.approx(variety_spread2 + USUAL.lots**2, abs=1e-6)


def stats_normal(away: float, spread: float) -> float:
    return math.exp(-away * away / (2 * spread * spread)) / (spread * math.sqrt(2 * math.pi))


@pytest.mark.parametrize("number", [1, 2, 5, 8, 20, 60])
def test_lots_of_a_single_cutting_teach_what_one_large_normal_says(number: int) -> None:
    # All offsets and logged times as one multivariate normal, its covariances written down pair by pair and
    # conditioned by NumPy's linear algebra (Anderson 2003, An Introduction to Multivariate Statistical Analysis,
    # theorem 2.5.1).
    rng = np.random.default_rng(number)
    for _ in range(20):
        timings = draw_lots(rng, number, lambda _, lot, variety, times: to_the_day(lot, variety, float(times[0])))
        learned = learn(timings, rule_with(USUAL))
        kept = believed_of(timings, learned)

        assert close(learned.grower, conditioned(kept, "grower"))
        for name in ("v0", "v1", "v2", "never met"):
            assert close(learned.offset("next", name), conditioned(kept, name))
        for timing in timings:
            others = [other for other in kept if other.lot != timing.lot]
            assert close(learned.offset(timing.lot, timing.variety), conditioned(others, timing.variety))


def close(found: Normal, exact: tuple[float, float]) -> bool:
    return abs(found.mean - exact[0]) < 1e-6 and abs(found.var - exact[1]) < 1e-6


def conditioned(timings: Sequence[Timing], of: str) -> tuple[float, float]:
    """Mean and variance of the grower's offset, or of the next lot of a variety, given lots of one cutting."""
    grower, variety, lot, cutting = (spread**2 for spread in (USUAL.growers, USUAL.varieties, USUAL.lots, USUAL.within))
    own = grower if of == "grower" else grower + variety + lot
    if not timings:
        return 0.0, own
    names = [timing.variety for timing in timings]
    among = np.array([[grower + variety * (one == other) for other in names] for one in names])
    among += np.eye(len(names)) * (lot + cutting)
    shared = np.array([grower + variety * (name == of) for name in names])
    weights = np.linalg.solve(among, shared)
    return float(weights @ np.array([timing.low for timing in timings])), float(own - weights @ shared)


# --- firsts of many, counts, looks, and lots still waiting: numeric ----------------------------------------------


def seen_in_any_way(rng: np.random.Generator, lot: str, variety: str, times: Array) -> Timing:
    """Known to the day, or between looks every four days, or counted, or not seen yet."""
    days = MEDIAN_DAYS * np.exp(times)
    of, way = len(times), rng.choice(["to the day", "between looks", "counted", "still waits"])
    stopped = float(rng.uniform(5, 40))
    if way == "still waits" and stopped < days[0]:
        return Timing(lot=lot, variety=variety, low=math.log(stopped / MEDIAN_DAYS), high=math.inf, of=of)
    if way in ("to the day", "still waits"):
        return Timing(lot=lot, variety=variety, low=float(times[0]), high=float(times[0]), of=of)
    look = math.ceil(days[0] / 4) * 4
    low = math.log((look - 4) / MEDIAN_DAYS) if look > 4 else -math.inf
    count = int((days <= look).sum()) if way == "counted" else None
    return Timing(lot=lot, variety=variety, low=low, high=math.log(look / MEDIAN_DAYS), of=of, count=count)


def assert_close_to_exact(timings: Sequence[Timing], spreads: Spreads, within: float = 0.05, **grid: float) -> None:
    """Grower, each variety, one never met: within 0.05 of a posterior spread in the mean, 5 % in the spread.

    `within` is what the spread of the grower alone may be off by.
    """
    learned = learn(timings, rule_with(spreads))
    exact = Exact(believed_of(timings, learned), spreads, **grid)
    assert_near(learned.grower, exact.moments(exact.grower()), within)
    for name in sorted({timing.variety for timing in timings} | {"never met"}):
        assert_near(learned.offset("next", name), exact.moments(exact.next_lot(name)), 0.05 if spreads.lots else within)


def assert_near(found: Normal, exact: tuple[float, float], within: float) -> None:
    mean, spread = exact
    assert abs(found.mean - mean) < 0.05 * spread
    assert math.sqrt(found.var) == pytest.approx(spread, rel=within)


@pytest.mark.parametrize(("number", "draws"), [(1, 40), (2, 30), (3, 20), (5, 20), (8, 20), (20, 10), (60, 5)])
def test_lots_logged_in_every_way_teach_what_an_exact_grid_says(number: int, draws: int) -> None:
    rng = np.random.default_rng(100 + number)

    for _ in range(draws):
        assert_close_to_exact(draw_lots(rng, number, seen_in_any_way), USUAL)


def waits(lot: str, days: float, of: int = 12, variety: str = "7") -> Timing:
    return Timing(lot=lot, variety=variety, low=math.log(days / MEDIAN_DAYS), high=math.inf, of=of)


def between(lot: str, low: float, high: float, of: int = 12, count: int | None = None, variety: str = "7") -> Timing:
    early = math.log(low / MEDIAN_DAYS) if low else -math.inf
    return Timing(lot=lot, variety=variety, low=early, high=math.log(high / MEDIAN_DAYS), of=of, count=count)


EXTREMES = {
    "one lot of two hundred": [between("7a", 8, 12, of=200)],
    "one lot of two hundred, counted": [between("7a", 8, 12, of=200, count=3)],
    "all of a lot between two looks": [between("7a", 16, 20, count=12)],
    "all still wait": [waits(f"7{letter}", days) for letter, days in zip("abcdefgh", range(10, 26, 2), strict=True)],
    "one alone waits, long": [waits("7a", 60)],
    "a sign on the very first day": [between("7a", 0, 0.5)],
    "a sign on the very first day, of a single stick": [between("7a", 0, 0.5, of=1)],
    "looks three weeks apart": [between(f"7{letter}", 1, 22, of=1) for letter in "abcd"],
    "never looked at before": [between("7a", 0, 30), between("7b", 0, 18, count=9)],
    "lots of one among lots of many": [between("7a", 20, 24, of=1), between("7b", 12, 16, of=200), waits("8a", 30, 1)],
}


@pytest.mark.parametrize("timings", EXTREMES.values(), ids=EXTREMES)
@pytest.mark.parametrize(
    "spreads",
    [USUAL, Spreads(varieties=0.0), Spreads(growers=0.02), Spreads(within=0.05)],
    ids=["usual", "varieties alike", "growers alike", "cuttings nearly alike"],
)
def test_extremes_teach_what_an_exact_grid_says(timings: list[Timing], spreads: Spreads) -> None:
    few_words = spreads.within < 0.1  # a sign somewhere in three weeks is a flat likelihood, far from a normal

    assert_close_to_exact(timings, spreads, within=0.08 if few_words else 0.05, low=-4.0, high=3.0)


@pytest.mark.parametrize("timings", EXTREMES.values(), ids=EXTREMES)
@pytest.mark.parametrize("varieties", [0.0, 0.1])
def test_where_lots_are_all_alike_the_spread_is_a_little_too_narrow(timings: list[Timing], varieties: float) -> None:
    # Nothing then softens what each lot says before it is put together with the others', so the normals that stand in
    # for lots still waiting cost more: up to 9 % of the spread.
    assert_close_to_exact(timings, Spreads(lots=0.0, varieties=varieties), within=0.1, low=-4.0, high=3.0)


def test_sixty_lots_of_which_none_has_shown_anything_say_too_much_of_the_grower_and_little_of_the_next_lot() -> None:
    # The worst case found: all say "longer than", each skew the same way; the grower's spread comes out 10 % narrow.
    timings = [waits(f"{letter}{number}", 25, variety=letter) for letter in "12345" for number in range(12)]

    assert_close_to_exact(timings, USUAL, within=0.12)


@pytest.mark.parametrize("within", [0.01, 0.05, 0.2, 0.5])
@pytest.mark.parametrize("of", [1, 6, 24, 200])
@pytest.mark.parametrize("away", [-3.0, -0.5, 0.0, 0.5, 3.0])
@pytest.mark.parametrize("gap", [0.02, 0.2, 1.0, math.inf])
def test_one_lot_far_off_or_seldom_looked_at_says_what_quadrature_says(
    within: float, of: int, away: float, gap: float
) -> None:
    # Sharp edges, flat tops and far tails, against a grid that closes in on where the density is.
    timing = Timing(lot="7a", variety="7", low=away, high=away + gap, of=of)
    spread = 0.35

    heard = Word(timing, within).heard(Normal(mean=0.0, var=spread**2))

    low, high = -4.0, 5.0
    for _ in range(4):
        offset = np.linspace(low, high, 801)
        density = normed(likelihood(timing, offset, within) * np.exp(-(offset**2) / (2 * spread**2)))
        mean = float(density @ offset)
        found = math.sqrt(density @ (offset - mean) ** 2)
        low, high = mean - 12 * found - (high - low) / 100, mean + 12 * found + (high - low) / 100
    assert abs(heard.mean - mean) < 0.01 * found
    assert math.sqrt(heard.var) == pytest.approx(found, rel=0.01)


# --- the censored fit under a flat prior -------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(6))
def test_lots_that_wait_are_fitted_as_survival_analysis_fits_them(seed: int) -> None:
    # SciPy's maximum-likelihood log-normal of right- and interval-censored times (scipy.stats.CensoredData,
    # stats.lognorm.fit), both parameters free. Given its spread and hardly any prior, the location must be the same;
    # its standard error is the curvature of SciPy's own censored likelihood. A mean lies off a mode by what is skew.
    rng = np.random.default_rng(seed)
    far_from_held_out = stats.truncnorm(-2, 2).rvs(80, random_state=rng)
    days = MEDIAN_DAYS * np.exp(0.2 + 0.35 * far_from_held_out)
    stopped = rng.uniform(15, 45, 80)
    looks = np.ceil(days / 4) * 4
    waiting, to_the_day = days > stopped, (days <= stopped) & (np.arange(80) % 2 == 0)
    looked = ~waiting & ~to_the_day
    data = stats.CensoredData(
        uncensored=days[to_the_day],
        right=stopped[waiting],
        interval=np.column_stack([looks[looked] - 4, looks[looked]]),
    )
    with np.errstate(divide="ignore"):  # on its way it tries spreads at which nothing is likely
        sigma, _, median = stats.lognorm.fit(data, floc=0)
    timings = [
        *(between(f"1{n}", day, day, of=1) for n, day in enumerate(days[to_the_day])),
        *(waits(f"2{n}", day, of=1) for n, day in enumerate(stopped[waiting])),
        *(between(f"3{n}", look - 4, look, of=1) for n, look in enumerate(looks[looked])),
    ]

    learned = learn(timings, rule_with(Spreads(sigma, 0.0, 0.0, 2.0)))

    step = 0.01
    below, here, above = (unlikely(data, sigma, median * math.exp(away)) for away in (-step, 0, step))
    error = step / math.sqrt(above - 2 * here + below)
    assert len(timings) == 80
    assert waiting.sum() >= 10
    assert not learned.held_out
    assert abs(learned.grower.mean - math.log(median / MEDIAN_DAYS)) < 0.05 * error
    assert math.sqrt(learned.grower.var) == pytest.approx(error, rel=0.05)


def unlikely(data: stats.CensoredData, sigma: float, median: float) -> float:
    """The negative log-likelihood of censored times, by SciPy's log-normal."""
    log_normal = stats.lognorm(sigma, scale=median)
    low, high = data._interval.T
    exactly, later = log_normal.logpdf(data._uncensored).sum(), log_normal.logsf(data._right).sum()
    return -float(exactly + later + np.log(log_normal.cdf(high) - log_normal.cdf(low)).sum())
