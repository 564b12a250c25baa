"""How many places suffice: moves whose day is not known, lots whose number is not, and the sum of them."""

from __future__ import annotations

from datetime import date
from itertools import product
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import betabinom

from almanac.plan.demand import Demand, Move, Number, Stay, near_quantile, quantile

DAY = date(2027, 3, 1)
TODAY = DAY.toordinal()


@st.composite
def some_stay(draw: st.DrawFn) -> Stay:
    """A lot that comes and goes, or is there, or stays, in numbers that may be in doubt."""

    def some_move(not_before: int) -> Move:
        early, likely, late = sorted(draw(st.lists(st.integers(0, 60), min_size=3, max_size=3)))
        return Move(early=not_before + early, likely=not_before + likely, late=not_before + late, not_before=not_before)

    most = draw(st.integers(1, 30))
    number = Number(
        most=most,
        surely=draw(st.integers(0, most)),
        share=draw(st.floats(0, 1)),
        concentration=draw(st.floats(0.5, 50)),
    )
    comes = some_move(TODAY) if draw(st.booleans()) else None
    goes = some_move(comes.late if comes else TODAY + 1) if draw(st.booleans()) else None
    return Stay(lot="7a", number=number, comes=comes, goes=goes)


# --- moves ---------------------------------------------------------------------------------------------------------


def test_a_move_has_come_by_its_early_likely_and_late_days_with_their_chances() -> None:
    potted = Move(early=TODAY + 10, likely=TODAY + 14, late=TODAY + 25, not_before=TODAY)

    assert [potted.chance_by(TODAY + n) for n in (10, 14, 25)] == pytest.approx([0.1, 0.5, 0.9])
    assert (potted.chance_by(TODAY), potted.chance_by(TODAY + 60)) == (0.0, 1.0)


def test_a_move_that_frost_puts_on_one_day_comes_on_that_day() -> None:
    safe = Move(early=TODAY + 40, likely=TODAY + 40, late=TODAY + 40, not_before=TODAY)

    assert (safe.chance_by(TODAY + 39), safe.chance_by(TODAY + 40)) == (0.0, 1.0)


def test_a_move_that_waits_for_the_end_of_the_week_has_half_its_chance_on_that_day() -> None:
    potted = Move(early=TODAY + 6, likely=TODAY + 6, late=TODAY + 20, not_before=TODAY)

    assert [potted.chance_by(TODAY + n) for n in (5, 6)] == pytest.approx([0.0, 0.5])
    assert potted.chance_by(TODAY + 20) == pytest.approx(0.9)


def test_what_is_not_logged_has_not_come_before_tomorrow() -> None:
    overdue = Move(early=TODAY - 40, likely=TODAY - 30, late=TODAY - 25, not_before=TODAY + 1)

    assert (overdue.chance_by(TODAY), overdue.chance_by(TODAY + 1)) == (0.0, 1.0)


# --- numbers -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("most", "surely", "share", "weight"), [(12, 0, 0.62, 6.0), (12, 3, 0.62, 6.0), (1, 0, 0.3, 2.0)]
)
def test_how_many_strike_is_the_beta_binomial_of_another_library(
    most: int, surely: int, share: float, weight: float
) -> None:
    number = Number(most=most, surely=surely, share=share, concentration=weight)
    # SciPy, scipy.stats.betabinom, on the cuttings not yet seen with roots.
    expected = betabinom(most - surely, share * weight, (1 - share) * weight)

    assert number.chances()[surely:] == pytest.approx(expected.pmf(range(most - surely + 1)))
    assert number.chances()[:surely] == (0.0,) * surely
    counts = np.arange(most + 1)
    assert number.moments() == pytest.approx([float(np.dot(counts**power, number.chances())) for power in (1, 2, 3)])


def test_cuttings_that_all_have_roots_are_all_potted() -> None:
    assert Number(most=4, surely=4, share=0.62, concentration=6.0).chances() == (0.0, 0.0, 0.0, 0.0, 1.0)
    assert Number(most=4, surely=1, share=0.0, concentration=6.0).chances() == (0.0, 1.0, 0.0, 0.0, 0.0)


# --- what suffices -------------------------------------------------------------------------------------------------


def test_two_lots_that_leave_with_even_chances_worked_by_hand() -> None:
    # Six and four bags, each lot there with chance 1/2: 0, 4, 6 or 10 places, a quarter each. Mean 5; only ten suffice
    # nine times in ten. Three more bags that stay make it 8 and 13.
    leaving = Move(early=TODAY - 3, likely=TODAY, late=TODAY + 3, not_before=TODAY - 9)
    stays = [
        Stay(lot="7a", number=Number(most=6), comes=None, goes=leaving),
        Stay(lot="8a", number=Number(most=4), comes=None, goes=leaving),
        Stay(lot="9a", number=Number(most=3)),
    ]

    found = Demand(first=TODAY, days=1, stays=stays)

    assert (found.expected(DAY), found.up_to(DAY), found.most(DAY)) == (8.0, 13, 13)


def test_a_chance_of_just_nine_in_ten_suffices() -> None:
    late = Stay(
        lot="7a",
        number=Number(most=5),
        comes=None,
        goes=Move(early=TODAY - 20, likely=TODAY - 10, late=TODAY, not_before=TODAY - 40),
    )

    assert Demand(first=TODAY, days=1, stays=[late]).up_to(DAY) == 0
    assert Demand(first=TODAY - 1, days=1, stays=[late]).up_to(date.fromordinal(TODAY - 1)) == 5


def parts(chance: Random, lots: int) -> list[tuple[float, Number]]:
    """Lots as a nursery has them: of two to twenty, half of them in doubt as to their number."""
    sizes = [chance.choice((2, 3, 4, 6, 6, 8, 10, 12, 12, 20)) for _ in range(lots)]
    return [
        (chance.random(), Number(most=size, surely=0, share=chance.choice((0.62, 1.0)), concentration=6.0))
        for size in sizes
    ]


def near(lots: list[tuple[float, Number]]) -> int:
    means, variances, thirds = [], [], []
    for there, number in lots:
        one, two, three = (there * moment for moment in number.moments())
        means.append(one)
        variances.append(two - one**2)
        thirds.append(three - 3 * one * two + 2 * one**3)
    return near_quantile(sum(means), sum(variances), sum(thirds))


def test_the_exact_sum_is_that_of_every_combination_counted_one_by_one() -> None:
    chance = Random(4)
    for _ in range(20):
        lots = [
            (there, Number(most=min(number.most, 4), surely=0, share=number.share, concentration=6.0))
            for there, number in parts(chance, 4)
        ]
        found = quantile([(there, number.chances()) for there, number in lots])

        totals: dict[int, float] = {}
        each = [[(k, there * p + (1 - there) * (k == 0)) for k, p in enumerate(n.chances())] for there, n in lots]
        for combination in product(*each):
            total = sum(k for k, _ in combination)
            totals[total] = totals.get(total, 0.0) + float(np.prod([p for _, p in combination]))
        assert found == next(k for k in sorted(totals) if sum(p for n, p in totals.items() if n <= k) >= 0.9 - 1e-9)


def test_the_approximation_for_many_lots_is_within_two_places_of_the_exact_sum() -> None:
    chance = Random(7)
    off = []
    for _ in range(60):
        lots = parts(chance, 30)
        off.append(near(lots) - quantile([(there, number.chances()) for there, number in lots]))

    assert max(map(abs, off)) <= 2
    assert sum(1 for each in off if each == 0) >= 40


def test_as_many_places_as_are_said_suffice_nine_times_in_ten_when_a_season_is_drawn_by_lot() -> None:
    # A simulation that shares no code with the sum: 100,000 seasons drawn with NumPy.
    generator = np.random.default_rng(11)
    for size in (6, 40):
        lots = parts(Random(size), size)
        total = np.zeros(100_000, dtype=int)
        for there, number in lots:
            a, b = number.share * 6.0, (1 - number.share) * 6.0
            share = generator.beta(a, b, total.size) if b else np.ones(total.size)
            total += generator.binomial(number.most, share) * (generator.random(total.size) < there)

        found = quantile([(there, number.chances()) for there, number in lots]) if size < 20 else near(lots)

        assert np.mean(total <= found) >= 0.893
        assert np.mean(total <= found - 1) < 0.907


@given(st.lists(some_stay(), max_size=25), st.integers(0, 130))
def test_demand_is_never_below_nothing_nor_above_the_cuttings_there_are(stays: list[Stay], ahead: int) -> None:
    demand = Demand(first=TODAY, days=131, stays=stays)
    day = date.fromordinal(TODAY + ahead)

    every = sum(stay.number.most for stay in stays)

    assert -1e-9 <= demand.expected(day) <= demand.most(day) + 1e-9
    assert 0 <= demand.up_to(day) <= demand.most(day) <= every


@given(st.lists(some_stay(), max_size=12), st.integers(0, 130))
def test_what_is_expected_is_the_sum_of_each_lot_by_its_chance(stays: list[Stay], ahead: int) -> None:
    demand = Demand(first=TODAY, days=131, stays=stays)

    expected = sum(stay.chance(TODAY + ahead) * stay.number.moments()[0] for stay in stays)

    assert demand.expected(date.fromordinal(TODAY + ahead)) == pytest.approx(expected, abs=1e-9)
