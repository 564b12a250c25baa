"""How long a record of 150 years takes to read and tabulate, beside a plain parse of the same lines by the csv module.

Run by hand: python -m tests.speed.frost
"""

from __future__ import annotations

import csv
from datetime import date, timedelta
from math import cos, pi
from statistics import median
from time import perf_counter

from almanac.site.daily import read_daily
from almanac.site.records import frost_table

WANTED = 2.0


def record() -> list[str]:
    """Invented lows of 150 years, a line a day."""
    days = (date(1870, 1, 1) + timedelta(days=n) for n in range(150 * 365))
    return ["date,low", *(f"{d},{8 - 11 * cos(2 * pi * (d.timetuple().tm_yday - 20) / 365):.1f}" for d in days)]


def plain(lines: list[str]) -> int:
    """The floor: every date and number once."""
    return len([(date.fromisoformat(day), float(low)) for day, low in list(csv.reader(lines))[1:]])


def main() -> None:
    lines = record()
    ours, floor = [], []
    for _ in range(9):
        start = perf_counter()
        plain(lines)
        floor.append(perf_counter() - start)
        start = perf_counter()
        frost_table(read_daily(lines, "C"), 0.0, southern=False, source="invented")
        ours.append(perf_counter() - start)
    ratio = median(a / b for a, b in zip(ours, floor, strict=True))
    print(
        f"150-year record: {1000 * median(ours):.0f} ms, plain parse {1000 * median(floor):.0f} ms, ratio {ratio:.2f}",
        end="",
    )
    print(f" (wanted: under {WANTED:g})")


if __name__ == "__main__":
    main()
