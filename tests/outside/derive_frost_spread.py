"""How far frost dates spread from year to year, by the date itself; prints `frost_spread.toml`.

    python -m tests.outside.derive_frost_spread ncei_1981-2010_freeze32f.csv.gz

The table is that of the US National Centers for Environmental Information, climate normals 1981-2010, freeze
dates at 32 °F, as a gzipped csv with the columns `last_p50`, `last_p90`, `first_p50`, `first_p90` (MM-DD) and
`completeness_flag`. The days between the 50 % and the 90 % date of a station, over the normal quantile of
90 % (1.2816), are its standard deviation; their mean is taken over the stations whose 50 % date falls into the same
three weeks or so. The table has no 10 % dates: their side of the distribution is taken to be as wide. By the sea and
in the south of the earth dates spread wider than inland in the United States, so all is taken times WIDER, no more
than leaves the published dates of Lebanon NH within four days; the 10 % date of stations of many climates then comes
true in 11 years of 100 (`test_frost_comes_true.py`).
"""

import csv
import gzip
import re
import sys
from collections.abc import Iterable
from itertools import pairwise
from pathlib import Path
from statistics import NormalDist, mean

from almanac.site.freeze_year import FreezeYear

NORTH = FreezeYear(southern=False)
WIDER = 1.03
SPRING, AUTUMN = (120, 180, 200, 220, 235, 250, 265, 280, 300, 365), (0, 30, 50, 65, 80, 95, 110, 130, 160, 220)


def spreads(rows: Iterable[dict[str, str]], middle: str, other: str, edges: tuple[int, ...]) -> list[list[float]]:
    """The mean date and mean s.d. of the stations whose 50 % date lies between two edges [days of the freeze year]."""
    found: list[tuple[int, float]] = []
    for row in rows:
        if all(re.fullmatch(r"\d\d-\d\d", row[column]) for column in (middle, other)):
            at, end = (NORTH.index(int(row[column][:2]), int(row[column][3:])) for column in (middle, other))
            found.append((at, abs(end - at) / NormalDist().inv_cdf(0.9)))
    each = [[pair for pair in found if low <= pair[0] < high] for low, high in pairwise(edges)]
    return [
        [round(mean(day for day, _ in some)), round(WIDER * mean(sd for _, sd in some), 1)] for some in each if some
    ]


def main(path: Path) -> None:
    with gzip.open(path, "rt", encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    print(
        f"""\
# Standard deviation of frost dates from year to year [days], for a place that has published a single date, by that date
# as the day of the freeze year (1 August in the north, 1 February in the south, is 0). Printed by
# tests/outside/derive_frost_spread.py, which says how. Where the spring is early winters are mild, and dates spread
# wide. A colder threshold is met so many days nearer to winter for each degree C: the freeze dates of Lebanon NH at 16
# and 32 F (same normals) lie that far apart.
spring = {spreads(rows, "last_p50", "last_p90", SPRING)}
autumn = {spreads(rows, "first_p50", "first_p90", AUTUMN)}
days_per_c = 5.0
source = "US National Centers for Environmental Information, climate normals 1981-2010, freeze dates \
at 32 °F, {len(rows)} stations, times {WIDER} by records of other climates\""""
    )


if __name__ == "__main__":
    main(Path(sys.argv[1]))
