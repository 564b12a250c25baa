"""What may stand in [frost] of `nursery.toml`: the one source of frost dates, and the chance a grower takes."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import field
from datetime import date
from typing import Annotated, Any, Literal

from almanac import units
from almanac.faults import Fact, Miswritten
from almanac.plain import dataclass
from almanac.rulebook.fields import (
    Read,
    Table,
    Temperature,
    Then,
    Unsaid,
    Within,
    Written,
    between,
    matching,
    quantity_schema,
)

_FROST_DAYS: dict[str, Any] = {
    "type": "object",
    "patternProperties": {r"^[0-9]{1,2}(\.[0-9]+)? ?%$": {"type": "string", "pattern": "^[0-9]{2}-[0-9]{2}$"}},
    "additionalProperties": False,
}


def parse_chance(written: str) -> float:
    """`50%` as 0.5. Raises Miswritten."""
    match = re.fullmatch(r"(\d{1,2}(?:\.\d+)?) ?%", written)
    if not match or not float(match[1]) > 0:
        raise Miswritten(Fact("not_a_chance", given=written))
    return float(match[1]) / 100


def parse_month_day(written: str) -> tuple[int, int]:
    """`04-17` as month and day. Raises Miswritten."""
    try:
        if not re.fullmatch(r"[0-9]{2}-[0-9]{2}", written):
            raise ValueError
        day = date.fromisoformat(f"2024-{written}")  # a leap year: it has every day
    except ValueError:
        raise Miswritten(Fact("not_a_month_day", given=written)) from None
    return day.month, day.day


FROST_SOURCES = ("dates", "station", "record", "monthly")


def _readable(value: Mapping[str, str]) -> Mapping[str, str]:
    for chance, day in value.items():
        parse_chance(chance)
        parse_month_day(day)
    return value


FrostDates = Annotated[Mapping[str, str], Then(_readable), Written(**_FROST_DAYS)]


@dataclass(frozen=True, kw_only=True)
class PublishedDates(Table):
    """[frost] dates"""

    together = between(
        {
            "if": {"properties": {"never": {"const": True}}, "required": ["never"]},
            "then": {"properties": {"last_spring": False, "first_autumn": False}},
            "else": {"required": ["last_spring", "first_autumn"]},
        }
    )
    threshold: Temperature = 0.0
    last_spring: FrostDates = field(default_factory=dict)
    first_autumn: FrostDates = field(default_factory=dict)
    never: bool = False

    def check(self) -> None:
        if self.never and (self.last_spring or self.first_autumn):
            raise Miswritten(Fact("never_with_dates"))
        if not self.never and not (self.last_spring and self.first_autumn):
            raise Miswritten(Fact("without_frost_dates"))


@dataclass(frozen=True, kw_only=True)
class Record(Table):
    """[frost] record: a station's daily lows, in one file or several, plain or gzip"""

    file: str | tuple[str, ...]
    unit: Literal["C", "F", "tenths C"]

    @property
    def files(self) -> tuple[str, ...]:
        return (self.file,) if isinstance(self.file, str) else self.file


@dataclass(frozen=True, kw_only=True)
class KnownDates(Table):
    """known of [frost] monthly: frost dates of the place itself"""

    last_spring: FrostDates = field(default_factory=dict)
    first_autumn: FrostDates = field(default_factory=dict)


def _monthly(kind: str) -> Read:
    def read(written: object) -> object:
        if not isinstance(written, list):
            return written
        if len(written) != 12:
            raise Miswritten(Fact("not_twelve", values=len(written)))
        return [units.parse(value, kind) for value in written]

    return Read(read)


def _twelve(kind: str) -> Written:
    return Written(type="array", minItems=12, maxItems=12, items=quantity_schema(kind))


@dataclass(frozen=True, kw_only=True)
class Monthly(Table):
    """[frost] monthly: the mean low of each month, and what more is known of the place"""

    lows: Annotated[tuple[float, ...], _monthly("temperature"), _twelve("temperature")]
    daily_sd: (
        Annotated[tuple[float, ...], _monthly("temperature difference"), _twelve("temperature difference")] | None
    ) = None
    known: KnownDates = KnownDates()


@dataclass(frozen=True, kw_only=True)
class Frost(Table):
    """[frost]: exactly one of dates, station, record, monthly"""

    together = between(
        {"oneOf": [{"required": [name]} for name in FROST_SOURCES]},
        {"dependencies": {"years": ["record"], "last": ["record"]}},
        {"not": {"required": ["years", "last"]}},
        {"not": {"required": ["dates", "threshold"]}},
    )
    accept: Annotated[float, Within(gt=0, lt=1)] = 0.10
    source: str = ""
    dates: PublishedDates | None = None
    station: str | None = None
    record: Record | None = None
    monthly: Monthly | None = None
    threshold: Annotated[Temperature, Unsaid(0.0)] | None = None
    years: Annotated[str, matching(r"\d{4}-\d{4}", "years")] | None = None
    last: Annotated[int, Within(ge=3)] | None = None

    def check(self) -> None:
        given = [name for name in FROST_SOURCES if getattr(self, name) is not None]
        if len(given) != 1:
            raise Miswritten(
                Fact("frost_sources", given=tuple(given), known=FROST_SOURCES)
                if given
                else Fact("no_frost_source", known=FROST_SOURCES)
            )
        if (self.years or self.last) and not self.record:
            raise Miswritten(Fact("years_without_record"))
        if self.years and self.last:
            raise Miswritten(Fact("years_and_last"))
        if self.years and int(self.years[:4]) > int(self.years[5:]):
            raise Miswritten(Fact("years_backwards", years=self.years))
        if self.dates and self.threshold is not None:
            raise Miswritten(Fact("threshold_outside_dates"))

    @property
    def threshold_c(self) -> float:
        """What counts as frost with a station, a record or monthly means [°C]."""
        return 0.0 if self.threshold is None else self.threshold
