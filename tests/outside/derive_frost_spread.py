"""How far frost dates spread from year to year: takes a table of climate normals, prints `frost_spread.toml`.

    python -m tests.outside.derive_frost_spread ncei_1981-2010_freeze32f.csv.gz

The table is that of the US National Centers for Environmental Information, climate normals 1981-2010, freeze
dates at 32 °F, as a gzipped csv with the columns `last_p50`, `last_p90`, `first_p50`, `first_p90` (MM-DD) and
`completeness_flag`. The days between the 50 % and the 90 % date of a station, over the normal quantile of
90 % (1.2816), are its standard deviation; the median is taken over the stations with the flag S (standard).
The table has no 10 % dates: their side of the distribution is taken to be as wide.
"""

import csv
import gzip
import re
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from statistics import NormalDist, median

from almanac.site.freeze_year import FreezeYear

NORTH = FreezeYear(southern=False)


def days_between(rows: Iterable[dict[str, str]], early: str, late: str) -> Iterator[int]:
    """Days from one column's date to the other's, for each station that has both."""
    for row in rows:
        if all(re.fullmatch(r"\d\d-\d\d", row[column]) for column in (early, late)):
            start, end = (NORTH.index(int(row[column][:2]), int(row[column][3:])) for column in (early, late))
            yield end - start


def main(path: Path) -> None:
    with gzip.open(path, "rt", encoding="utf-8") as lines:
        rows = [row for row in csv.DictReader(lines) if row["completeness_flag"] == "S"]
    spring = list(days_between(rows, "last_p90", "last_p50"))
    autumn = list(days_between(rows, "first_p50", "first_p90"))
    quantile = NormalDist().inv_cdf(0.9)
    print(
        f"""\
# Standard deviation of frost dates from year to year, for a place that has published a single date. Printed
# by tests/outside/derive_frost_spread.py, which says how. Most of these stations lie inland; by a mild coast
# and on mountains dates spread wider, so that a table from a single date is called an estimate.
spring_sd_days = {median(spring) / quantile:.1f}
autumn_sd_days = {median(autumn) / quantile:.1f}
source = "US National Centers for Environmental Information, climate normals 1981-2010, freeze dates \
at 32 °F: median of {len(spring)} stations (spring) and {len(autumn)} (autumn) with the flag S\""""
    )


if __name__ == "__main__":
    main(Path(sys.argv[1]))
