"""Fungus gnats in a pot or an opened bag, day by day: eggs as they are laid, who meets a drench, who escapes.

It knows nothing of the program's own arithmetic: stages and threshold are those of `data/gnat_days.csv`. Adults of
every age are about when the gnats are seen; each lays an egg a day for its life, a larva that meets a drench dies.
`python -m tests.outside.gnat_population` prints what the program's treatment days catch, and what three weekly ones do.
"""

from __future__ import annotations

import csv
import tempfile
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from tests.nurseries import bench
from tests.unit.given import of_rule, planned

DATA = Path(__file__).parent / "data" / "gnat_days.csv"
SEEN = date(2027, 2, 2)
TEMPERATURES_C = (18.0, 22.0, 26.0, 30.0)
ADULT_LIFE = 7  # Michigan State University Extension, OC0138: a female lives about one week
WEEKLY = (0, 7, 14)  # common practice: three weekly drenches


def published() -> list[dict[str, str]]:
    """The rows of the data file."""
    lines = [line for line in DATA.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


def threshold_c() -> float:
    """Where the line through the two temperatures of one species meets no development [°C]."""
    cold, warm = (row for row in published() if row["species"] == "Scatopsciara cunicularius")
    low, high = float(cold["temp_c"]), float(warm["temp_c"])
    slow, fast = float(cold["total_days"]), float(warm["total_days"])
    return (slow * low - fast * high) / (slow - fast)


@dataclass(frozen=True)
class Species:
    """Degree-days of egg, larva and pupa [K d]."""

    egg: float
    larva: float
    pupa: float

    def stage(self, sum_kd: float) -> str:
        if sum_kd < self.egg:
            return "egg"
        if sum_kd < self.egg + self.larva:
            return "larva"
        return "pupa" if sum_kd < self.egg + self.larva + self.pupa else "adult"


def species(source: str, temp_c: float) -> Species:
    """One of the data file, by the line over the threshold."""
    [row] = (row for row in published() if row["source"] == source and float(row["temp_c"]) == temp_c)
    over = temp_c - threshold_c()
    return Species(*(float(row[f"{stage}_days"]) * over for stage in ("egg", "larva", "pupa")))


def between(share: float) -> Species:
    """From the fastest (0) to the slowest (1) species of the data."""
    fast, slow = species("ucipm", 23.9), species("lundscatop", 22.0)
    return Species(
        *(getattr(fast, stage) * (1 - share) + getattr(slow, stage) * share for stage in ("egg", "larva", "pupa"))
    )


def escapes(kind: Species, temp_c: float, drenches: Collection[int], phase: float = 0.0) -> int:
    """How many day's eggs become pupae unmet, of larvae there at the first drench or hatched after it.

    Args:
        kind: how much warmth each stage asks for
        temp_c: the mix, always [°C]
        drenches: days after the gnats were seen
        phase: the hour of the day at which eggs are laid, as a share of it
    """
    rate = temp_c - threshold_c()
    whole = kind.egg + kind.larva + kind.pupa
    back = int(whole / rate) + ADULT_LIFE + 2
    cohorts = [(-day - phase) * rate for day in range(-back, 1)]  # laid day by day for a generation before
    met, first, escaped, ages = [False] * len(cohorts), min(drenches), 0, [-1] * len(cohorts)
    for day in range(300):
        for number, gained in enumerate(cohorts):
            if day in drenches and kind.stage(gained) == "larva":
                met[number] = True
        alive = False
        for number, gained in enumerate(cohorts):
            if met[number]:
                continue
            before, cohorts[number] = kind.stage(gained), gained + rate
            after = kind.stage(cohorts[number])
            escaped += before in ("egg", "larva") and after in ("pupa", "adult") and day >= first
            if after == "adult":
                ages[number] += 1
                alive = alive or ages[number] < ADULT_LIFE
        if day > first + 120:
            break
        if alive:
            cohorts.append(-phase * rate)
            met.append(False)
            ages.append(-1)
    return escaped


def turns(temp_c: float) -> list[tuple[int, int, int]]:
    """What the program asks for in opened bags at a temperature: each turn's first, planned and last day after SEEN."""
    log = f"""2026-12-20 received 7a --count 12 --stage rooting --bin A
2027-01-20 roots 7a --count 12
2027-01-20 leaves 7a --count 12
2027-02-01 opened 7a
{SEEN} gnats --bin A --count 9"""
    with tempfile.TemporaryDirectory() as folder:
        plan = planned(bench(Path(folder), log, SEEN, mat=f"{temp_c:g} C", air=f"{temp_c:g} C"))
    found = sorted(of_rule(plan, "gnat_drench"), key=lambda task: task.earliest)
    return [tuple((day - SEEN).days for day in (task.earliest, task.due, task.latest)) for task in found]  # type: ignore[misc]  # three of each


def ways(temp_c: float) -> dict[str, tuple[int, ...]]:
    """Days on which the turns may come: as planned, always as late as may be, and late and early in turn."""
    asked = turns(temp_c)
    return {
        "as planned": tuple(due for _, due, _ in asked),
        "each at its latest": tuple(late for *_, late in asked),
        "early and late in turn": tuple(late if number % 2 else early for number, (early, _, late) in enumerate(asked)),
    }


def worst(temp_c: float, drenches: Collection[int]) -> int:
    """The most day's eggs that escape, of any species between the fastest and slowest and any hour of laying."""
    return max(
        escapes(between(share), temp_c, drenches, phase)
        for share in (0.0, 0.25, 0.5, 0.75, 1.0)
        for phase in (0.0, 0.3, 0.6, 0.9)
    )


def main() -> None:
    """Print how many day's eggs escape the program's turns and three weekly drenches."""
    for temp_c in TEMPERATURES_C:
        for name, days in {**ways(temp_c), "three weekly": WEEKLY}.items():
            told = f"{len(days)} turns, day {days[0]} to {days[-1]}"
            print(f"{temp_c:g} C, {name}: {told}, {worst(temp_c, days)} day's eggs escape")


if __name__ == "__main__":
    main()
