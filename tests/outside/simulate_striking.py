"""How often plants and pots come out as the program says, where the grower's mean share is drawn and not known to it.

    python -m tests.outside.simulate_striking [GROWERS]

A grower's mean share that roots, and that of the rooted which come through the pots, are each drawn from a Beta of the
rule's mean and weight; lots lie about them as the rule says, but that some fail whole. Printed: how often the cuttings
told for 10, 20 and 60 plants with a chance of 90 % gave them, after 0, 3, 8 and 20 settled lots; and how often pots
pass the line that is to hold nine times in ten, by which `space` plans, for growers drawn and for three that are given.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np

from almanac.forecast.outcomes import Outcome
from almanac.forecast.shares import how_many
from almanac.forecast.strike import MOST, RatePart, rates
from almanac.plan.demand import Number
from almanac.plan.room.pots import together
from almanac.rulebook.models import Strike
from almanac.site.freeze_year import FreezeYear

RULE = Strike(rooted=0.62, finished=0.55, concentration=6.0, source="as for fig; invented")
AFTER, PLANTS, SIZES, FAILS = (0, 3, 8, 20), (10, 20, 60), (6, 12, 24), 0.03
_PART, _SEASON = RatePart(crop="fig", method="sealed_bag"), FreezeYear(southern=False).start


@dataclass(frozen=True)
class Grower:
    """A drawn grower: the mean shares that root, and of those that come through."""

    rng: np.random.Generator = field(repr=False)
    rooted: float
    through: float

    def lot(self, of: int) -> tuple[int, int]:
        """Of a lot, how many root and how many finish; one in so many fails whole, whatever the mean."""
        share, alive = (self._share(mean) for mean in (self.rooted, self.through))
        rooted = 0 if self.rng.random() < FAILS else int(self.rng.binomial(of, share))
        return rooted, int(self.rng.binomial(rooted, alive))

    def _share(self, mean: float) -> float:
        return float(self.rng.beta(max(mean, 1e-3) * RULE.concentration, max(1 - mean, 1e-3) * RULE.concentration))

    def settled(self, number: int) -> Outcome:
        """A lot with all of it over."""
        of = int(self.rng.choice(SIZES))
        rooted, finished = self.lot(of)
        day = date(2020, 1, 5) + timedelta(days=7 * number)
        return Outcome(
            lots=(f"7{number}",),
            number="7",
            crop="fig",
            method="sealed_bag",
            stuck_on=day,
            dead=of - rooted,
            rooted=rooted,
            finished=finished,
        )


def drawn(rng: np.random.Generator, rooted: float | None = None) -> Grower:
    """A grower of the rule's own prior; or one whose mean is given."""
    c, through = RULE.concentration, RULE.finished / RULE.rooted
    mean = float(rng.beta(RULE.rooted * c, (1 - RULE.rooted) * c)) if rooted is None else rooted
    return Grower(rng, mean, float(rng.beta(through * c, (1 - through) * c)))


def plants_reached(growers: int, seed: int = 4, each: int = 8) -> dict[tuple[int, int], float]:
    """By settled lots and plants wanted, how often the cuttings told gave them; so many lots tried a grower."""
    rng = np.random.default_rng(seed)
    found: dict[tuple[int, int], list[float]] = {(after, plants): [] for after in AFTER for plants in PLANTS}
    for _ in range(growers):
        grower = drawn(rng)
        lots = [grower.settled(number) for number in range(max(AFTER))]
        for after in AFTER:
            share = rates(_PART, lots[:after], RULE, _SEASON)["finished"]
            for plants in PLANTS:
                cuttings = how_many(plants, 0.9, share.mean, share.in_doubt(), MOST)
                reached = [grower.lot(cuttings)[1] >= plants for _ in range(each)] if cuttings else [False]
                found[after, plants].append(float(np.mean(reached)))
    return {key: float(np.mean(value)) for key, value in found.items()}


def line_passed(growers: int, rooted: float | None, after: int, seed: int = 5, lots: int = 10) -> float:
    """In how many winters more is potted of some lots than the places that suffice nine times in ten."""
    rng = np.random.default_rng(seed)
    passed = []
    for _ in range(growers):
        grower = drawn(rng, rooted)
        known = [grower.settled(number) for number in range(after)]
        share = rates(_PART, known, RULE, _SEASON)["rooted"]
        sizes = [int(size) for size in rng.choice(SIZES, lots)]
        alike = sum(sizes) ** 2 / sum(size**2 for size in sizes)
        _, places = together(
            [Number(most=size, surely=0, share=share.mean, concentration=share.in_doubt(alike)) for size in sizes]
        )
        passed += [sum(grower.lot(size)[0] for size in sizes) > places for _ in range(4)]
    return float(np.mean(passed))


def main(growers: int) -> None:
    found = plants_reached(growers)
    print(f"{growers} growers drawn from the prior; plants had as often as said (90 %)")
    print("settled lots" + "".join(f"{plants:>7} plants" for plants in PLANTS))
    for after in AFTER:
        print(f"{after:>12}" + "".join(f"{found[after, plants]:>14.1%}" for plants in PLANTS))
    print(f"pooled {np.mean(list(found.values())):.1%}")
    growers_told: Sequence[tuple[str, float | None]] = [("drawn", None), ("0.45", 0.45), ("0.62", 0.62), ("0.85", 0.85)]
    for name, mean in growers_told:
        figures = ", ".join(f"{line_passed(growers, mean, after):.1%} after {after}" for after in AFTER)
        print(f"pots of ten lots pass the nine-in-ten line, grower {name}: {figures} settled lots")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 400)
