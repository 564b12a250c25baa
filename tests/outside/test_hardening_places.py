"""Hardening off at places from 55 S to 60 N: what must hold of every ramp wherever a nursery lies.

The light is worked out here anew from the published formulas: the day's sum by Allen et al. 1998 (FAO Irrigation and
Drainage Paper 56, eq. 21 to 25 and 37), its course by Haurwitz 1945 (Journal of Meteorology 2), photons at 7.058 mol
per kWh (Logan, Sams & Faust 2016), a lamp's dose as PPFD x hours x 0.0036.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cache
from itertools import pairwise
from math import acos, cos, exp, pi, radians, sin, tan
from pathlib import Path

import pytest

from almanac.nursery.nursery import Nursery
from almanac.plan.care.programmes.hardening.derivation import Ramp
from almanac.plan.model import Plan, Task
from almanac.rulebook.programmes.hardening import Hardening
from almanac.site.place import Place
from almanac.site.sun import solar_noon
from almanac.words.derivation import rule_of
from tests.journeys.year import EVERYWHERE
from tests.nurseries import NO_FROST, bench, frost_dates
from tests.unit.given import planned

DATA = Path(__file__).parent / "data" / "hardening_places.csv"
ROWS = list(csv.DictReader(line for line in DATA.read_text(encoding="utf-8").splitlines() if not line.startswith("#")))
KITS = ("cloths = [0.7, 0.4]", 'way = "hours"', "cloths = []", "cloths = [0.5]")
POTTED = (date(2027, 2, 10), date(2027, 5, 20), date(2027, 10, 5))
VARIETIES = (
    "number,name,crop,source,protected\n7,Copper Kettle (invented),fig,,\n8,Ink Pot (invented),black_currant,,\n"
)
KEPT = timedelta(days=42)  # the weeks in which plants put out late in summer must meet no frost
BY_DAY = timedelta(days=14)  # before they can live out (Penn State Extension, Hardening Transplants, 2023)
LAMP_PPFD, LAMP_H = 120, 16
TOLERANCE = 1.01  # the program reads the day's course off in parts of five minutes


def _frost(told: str) -> str:
    if told == "station":
        return '[frost]\nstation = "nearest"'
    if told == "never":
        return NO_FROST
    if "/" in told:
        return frost_dates(*told.split("/"))
    return "[frost.monthly]\nlows = [" + ", ".join(f'"{low} C"' for low in told.split()) + "]"


def _nursery(folder: Path, row: dict[str, str], kit: str, day: date) -> Nursery:
    log = f"{day} received 7a --count 6 --stage pot\n{day} received 8a --count 6 --stage pot"
    return bench(
        folder,
        log,
        day,
        frost=_frost(row["frost"]),
        latitude=float(row["latitude"]),
        longitude=float(row["longitude"]),
        elevation=f"{row['elevation_m']} m",
        timezone=row["timezone"],
        country="",
        varieties=VARIETIES,
        space=f"light = {{ ppfd = {LAMP_PPFD}, hours = {LAMP_H} }}",
        hardening=kit,
    )


@dataclass(frozen=True)
class Day:
    """The clear light of a day, minute by minute, from the published formulas: moments, and photons at each."""

    noon: datetime
    strength: tuple[float, ...]

    def gives(self, passes: Callable[[datetime], float]) -> tuple[float, float]:
        """Dose [mol m-2] and peak [µmol m-2 s-1] where so much of the light passes at a moment."""
        start = self.noon - timedelta(hours=12)
        there = [light * passes(start + timedelta(minutes=n + 0.5)) for n, light in enumerate(self.strength)]
        return sum(there) * 60 / 1e6, max(there)


@cache
def _day(place: Place, day: date) -> Day:
    number, latitude = day.timetuple().tm_yday, radians(place.latitude_deg)
    declination = 0.409 * sin(2 * pi * number / 365 - 1.39)
    sunset = acos(max(-1.0, min(1.0, -tan(latitude) * tan(declination))))
    flat = sunset * sin(latitude) * sin(declination) + cos(latitude) * cos(declination) * sin(sunset)
    above = 24 * 60 / pi * 0.0820 * (1 + 0.033 * cos(2 * pi * number / 365)) * flat
    mol = (0.75 + 2e-5 * place.elevation_m) * above * 7.058 / 3.6
    sines = [
        sin(latitude) * sin(declination) + cos(latitude) * cos(declination) * cos(2 * pi * (n + 0.5 - 720) / 1440)
        for n in range(1440)
    ]
    course = [sine * exp(-0.059 / max(sine, 0.02)) if sine > 0 else 0.0 for sine in sines]
    whole = sum(course)
    return Day(solar_noon(place, day), tuple(light / whole * mol * 1e6 / 60 for light in course))


def _light(task: Task, place: Place) -> tuple[float, float]:
    """What a clear day gives the plants of a task, by what its entry tells the grower to do."""
    assert isinstance(task.derivation, Ramp)
    step, day = task.derivation.step, _day(place, task.due)
    assert step is not None
    if step.out and step.back:
        out, back = (datetime.combine(task.due, at, place.zone).astimezone(UTC) for at in (step.out, step.back))
        rest = step.rest.passes if step.rest else 0.0
        return day.gives(lambda moment: step.stand.passes if out <= moment < back else rest)
    after = step.stand.after_noon
    return day.gives(lambda moment: after.passes if after and moment >= day.noon else step.stand.passes)


def _ramps(plan: Plan) -> Iterator[list[Task]]:
    """The tasks of each lot that goes out, in order: out, each step, the first night."""
    for lot in ("7a", "8a"):
        tasks = [task for task in plan.tasks if task.lots == (lot,) and task.rule.id.startswith("harden")]
        if tasks:
            yield sorted(tasks, key=lambda task: task.due)


def _check_light(ramp: list[Task], nursery: Nursery) -> None:
    rule, place = nursery.book.programme(Hardening), nursery.place
    share, at_most = rule.raise_a_day, rule.most_at_once
    lamp = LAMP_PPFD * LAMP_H * 0.0036, float(LAMP_PPFD)
    lights = [(task.due, _light(task, place)) for task in ramp]
    for dose, known in zip(lights[0][1], lamp, strict=True):
        assert dose <= known * (1 + share) * TOLERANCE, f"{ramp[0].id} at the start"
    for (before, last), (after, new) in pairwise(lights):
        times = min((1 + share) ** (after - before).days, at_most)
        for had, given, known in zip(last, new, lamp, strict=True):
            assert given <= max(had * times, known * (1 + share)) * TOLERANCE, f"{before} to {after}: {had} to {given}"


def _check_frost(task: Task, nursery: Nursery) -> None:
    """No frost is likelier than accepted from then on: in the rest of the spring, or in the weeks to come of autumn.

    By day plants go out two weeks before that.
    """
    frost, accept = nursery.frost, nursery.settings.frost.accept
    day = task.due if task.rule.id == "harden_nights" else task.due + BY_DAY
    to_come = min(frost.chance_after(day), frost.chance_before(task.due + KEPT))
    assert to_come <= accept, f"{task.id} on {task.due}: {to_come:.0%}"


@pytest.mark.parametrize("row", ROWS[:: 1 if EVERYWHERE else 3], ids=lambda row: row["name"])
def test_hardening_keeps_to_frost_and_dose_and_ends_or_says_why_not(row: dict[str, str], tmp_path: Path) -> None:
    number = ROWS.index(row)
    for n in (number, number + 1):  # two seasons and two kits a place, in turn
        kit, day = KITS[n % len(KITS)], POTTED[n % len(POTTED)]
        nursery = _nursery(tmp_path, row, kit, day)
        plan = planned(nursery)
        found = list(_ramps(plan))

        for ramp in found:
            *steps, night = ramp
            assert night.rule.id == "harden_nights"
            assert re.search(r"full sun|sun, .* from \d\d:\d\d", _what(steps[-1])), "it does not end in the sun"
            assert 2 <= (night.due - steps[-1].due).days <= 14, "the first night follows the last step"
            for task in ramp:
                _check_frost(task, nursery)
            _check_light(steps, nursery)
        told = Counter(lot for warning in plan.warnings if warning.kind == "never_safe" for lot in warning.lots)
        hardened = {lot for ramp in found for lot in ramp[0].lots}
        assert hardened | set(told) == {"7a", "8a"}


def _what(task: Task) -> str:
    return rule_of(task).title


def test_the_places_span_from_55_south_to_60_north() -> None:
    latitudes = [float(row["latitude"]) for row in ROWS]

    assert len(ROWS) > 60
    assert min(latitudes) <= -54.5
    assert max(latitudes) >= 59.5
