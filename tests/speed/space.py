"""How long the room of a season takes, by how many lots there are: `python -m tests.speed.space [LOTS...]`.

Lots are invented: twelve cuttings each, forecast to move through bags, pots and out within 300 days. For information.
"""

from __future__ import annotations

import sys
from datetime import date, timedelta
from random import Random
from time import perf_counter

from almanac.plan.demand import Demand, Move, Number, Stay

_DAYS, _BINS = 300, 10
_FIRST = date(2026, 11, 1).toordinal()


def rooms(lots: int, chance: Random) -> list[list[Stay]]:
    """The stays of so many lots: in each bin, under the lamps, outside."""
    bins: list[list[Stay]] = [[] for _ in range(_BINS)]
    lamps: list[Stay] = []
    outside: list[Stay] = []
    for lot in range(lots):
        start = _FIRST + chance.randrange(120)
        potted, out = (
            Move(early=start + n - 12, likely=start + n, late=start + n + 25, not_before=start) for n in (60, 120)
        )
        stuck = Move(early=start, likely=start, late=start, not_before=start)
        bins[lot % _BINS].append(Stay(lot=str(lot), number=Number(most=12), comes=stuck, goes=potted))
        lamps.append(
            Stay(lot=str(lot), number=Number(most=12, surely=0, share=0.6, concentration=6.0), comes=potted, goes=out)
        )
        outside.append(Stay(lot=str(lot), number=Number(most=12, surely=0, share=0.6, concentration=6.0), comes=out))
    return [*bins, lamps, outside]


def main(sizes: list[int]) -> None:
    """Measure what is expected and what suffices, every day in every place."""
    for lots in sizes:
        places = rooms(lots, Random(1))
        start = perf_counter()
        for stays in places:
            demand = Demand(first=_FIRST, days=_DAYS, stays=stays)
            for number in range(_DAYS):
                demand.up_to(date.fromordinal(_FIRST) + timedelta(days=number))
        taken = perf_counter() - start
        print(f"room for {lots} lots over {_DAYS} days: {taken:.2f} s, {taken / lots * 1000:.2f} ms a lot")


if __name__ == "__main__":
    main([int(word) for word in sys.argv[1:]] or [30, 300, 3000, 10_000])
