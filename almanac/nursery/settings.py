"""What may stand in `nursery.toml`, checked as it comes in; then site, frost table and bins made of it."""

from __future__ import annotations

import re
from datetime import date, time
from typing import Annotated, Literal, Self
from uuid import UUID
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import BeforeValidator, Field, field_validator, model_validator

from almanac import units
from almanac.faults import suggestion
from almanac.rulebook.fields import Table, Temperature
from almanac.site.frost import FrostTable, from_published, never
from almanac.site.place import Place

Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
WEEKDAYS: tuple[Weekday, ...] = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def _elevation_m(written: object) -> float:
    return units.parse(written, "elevation")


def _clock(written: object) -> object:
    match = re.fullmatch(r"([01]?\d|2[0-3]):([0-5]\d)", written) if isinstance(written, str) else None
    if not match:
        raise ValueError(f'{units.shown(written)} is not a time of day; write for example "18:30"')
    return time(int(match[1]), int(match[2]))


def _chance(written: str) -> float:
    match = re.fullmatch(r"(\d{1,2}(?:\.\d+)?) ?%", written)
    if not match or not float(match[1]) > 0:
        raise ValueError(f'{units.shown(written)} is not a chance; write one over 0% and under 100%, such as "50%"')
    return float(match[1]) / 100


def _month_day(written: str) -> tuple[int, int]:
    try:
        if not re.fullmatch(r"[0-9]{2}-[0-9]{2}", written):
            raise ValueError
        day = date.fromisoformat(f"2024-{written}")  # a leap year: it has every day
    except ValueError:
        raise ValueError(f'{units.shown(written)} is not a day of the year; write month-day, such as "04-17"') from None
    return day.month, day.day


class Identity(Table):
    """[nursery]"""

    id: Annotated[str, Field(validate_default=True)] = ""
    name: str = "Nursery"
    units: Literal["us", "metric"] = "metric"
    method: str = "sealed_bag"

    @field_validator("id")
    @classmethod
    def _is_uuid(cls, value: str) -> str:
        try:
            return str(UUID(value))
        except ValueError:
            found = f"{units.shown(value)} is not an id" if value else "id is missing"
            raise ValueError(
                f"{found}; put back the one from your backup, or take that of a new nursery: stickdate new OTHER"
            ) from None


class Site(Table):
    """[site]"""

    town: str = ""
    latitude: Annotated[float, Field(ge=-90, le=90)]
    longitude: Annotated[float, Field(ge=-180, le=180)]
    elevation: Annotated[float, BeforeValidator(_elevation_m)] = 0.0
    timezone: str
    country: str = ""
    region: str = ""

    @field_validator("timezone")
    @classmethod
    def _is_zone(cls, value: str) -> str:
        try:
            ZoneInfo(value)
        except (ZoneInfoNotFoundError, ValueError, OSError):
            from zoneinfo import available_timezones

            near = suggestion(value, available_timezones()) or "; write for example America/New_York"
            raise ValueError(f"{units.shown(value)} is not a time zone{near}") from None
        return value


class PublishedDates(Table):
    """[frost] dates"""

    threshold: Temperature = 0.0
    last_spring: dict[str, str] = {}
    first_autumn: dict[str, str] = {}
    never: bool = False

    @field_validator("last_spring", "first_autumn")
    @classmethod
    def _readable(cls, value: dict[str, str]) -> dict[str, str]:
        for chance, day in value.items():
            _chance(chance)
            _month_day(day)
        return value

    @model_validator(mode="after")
    def _one_or_the_other(self) -> Self:
        if self.never and (self.last_spring or self.first_autumn):
            raise ValueError("never = true says it does not freeze; take the dates away, or never")
        if not self.never and not (self.last_spring and self.first_autumn):
            raise ValueError(
                'needs last_spring and first_autumn, such as { "50%" = "04-17" }, or never = true for no frost at all'
            )
        return self


class Frost(Table):
    """[frost]"""

    accept: Annotated[float, Field(gt=0, lt=1)] = 0.10
    source: str = "as typed by the grower"
    dates: PublishedDates


class BinLight(Table):
    """light of a bin: photons at the leaves [µmol m⁻² s⁻¹] and hours a day"""

    ppfd: Annotated[float, Field(gt=0)]
    hours: Annotated[float, Field(gt=0, le=24)]


class Bin(Table):
    """[[bin]]"""

    name: Annotated[str, Field(pattern=r"^[A-Za-z][A-Za-z0-9_-]{0,19}$")]
    bags: Annotated[int, Field(ge=1)] = 24
    mat: Temperature
    air: Temperature
    light: BinLight | None = None


class Space(Table):
    """[space]"""

    pots_under_light: Annotated[int, Field(ge=0)] | None = None
    pots_outside: Annotated[int, Field(ge=0)] | None = None


class Away(Table):
    """one stretch of days away, both ends included"""

    first: Annotated[date, Field(alias="from")]
    last: Annotated[date, Field(alias="to")]

    @model_validator(mode="after")
    def _forward(self) -> Self:
        if self.last < self.first:
            raise ValueError(f"from {self.first} to {self.last} runs backwards; exchange the two")
        return self


class Week(Table):
    """[week]"""

    bench_days: Annotated[list[Weekday], Field(min_length=1)] = ["tue", "fri", "sun"]
    bench_time: Annotated[time, BeforeValidator(_clock)] | None = None
    away: list[Away] = []
    post_days: list[Weekday] = ["mon", "tue", "wed"]


class Hardening(Table):
    """[hardening]"""

    way: Literal["shade", "hours"] = "shade"
    cloths: list[Annotated[float, Field(gt=0, lt=1)]] = []


class Sale(Table):
    """[sale]"""

    dormant: bool = True
    rooted: bool = True


class Calendar(Table):
    """[calendar]"""

    alarm: Literal["none", "morning", "bench"] = "none"


class Settings(Table):
    """The whole of `nursery.toml`."""

    nursery: Identity
    site: Site
    frost: Frost
    bin: list[Bin] = []
    space: Space = Space()
    week: Week = Week()
    hardening: Hardening = Hardening()
    sale: Sale = Sale()
    calendar: Calendar = Calendar()

    @field_validator("bin")
    @classmethod
    def _bins_differ(cls, value: list[Bin]) -> list[Bin]:
        names = [item.name.lower() for item in value]
        double = sorted({item.name for item in value if names.count(item.name.lower()) > 1})
        if double:
            raise ValueError(f"the name '{double[0]}' is given twice; each bin needs its own")
        return value

    def place(self) -> Place:
        """The site as the sun sees it."""
        site = self.site
        return Place(
            latitude_deg=site.latitude,
            longitude_deg=site.longitude,
            timezone=site.timezone,
            country=site.country,
            region=site.region,
            town=site.town,
            elevation_m=site.elevation,
        )

    def frost_table(self) -> FrostTable:
        """The frost table of the site.

        Raises:
            PublishedDatesError: the dates contradict one another; its args say which, each with the remedy.
        """
        dates, southern = self.frost.dates, self.site.latitude < 0
        if dates.never:
            return never(dates.threshold, southern, self.frost.source)
        return from_published(
            dates.threshold,
            {_chance(chance): _month_day(day) for chance, day in dates.last_spring.items()},
            {_chance(chance): _month_day(day) for chance, day in dates.first_autumn.items()},
            southern,
            self.frost.source,
        )

    def is_away(self, day: date) -> bool:
        """Whether the grower is away that day."""
        return any(stretch.first <= day <= stretch.last for stretch in self.week.away)

    def bin_named(self, name: str) -> Bin | None:
        """The bin of that name, whatever its case."""
        return next((item for item in self.bin if item.name.lower() == name.lower()), None)
