"""What may stand in `nursery.toml`, checked as it comes in; then site, frost table and bins made of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field
from datetime import date
from functools import cached_property
from typing import Annotated, Any, Literal
from uuid import UUID

from almanac import units
from almanac.faults import Fact, Miswritten, as_found
from almanac.nursery.settings_frost import Frost
from almanac.nursery.settings_places import Bin, BinLight, ClockTime, GrowingPlace, Shelter
from almanac.nursery.settings_site import Site
from almanac.plain import dataclass
from almanac.rulebook.fields import (
    EvenLeftOut,
    Filled,
    Hours,
    Key,
    Read,
    Table,
    Then,
    Within,
    Written,
    between,
    matching,
    quantity_schema,
)
from almanac.site.place import Place

Nights = Literal["indoors", "frame", "fleece"]
Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
_STORE_C = (-3.0, 12.0)  # below it wood freezes in the bag, above it is no cold store
_IN_HAND: dict[str, Any] = {
    "type": "object",
    "additionalProperties": {"anyOf": [{"type": "integer", "minimum": 0}, quantity_schema("volume")]},
}
_IS_UUID = r"^(urn:)?(uuid:)?\{?([0-9a-fA-F]-*){32}\}?$"  # as `uuid.UUID` reads it
WEEKDAYS: tuple[Weekday, ...] = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def _is_uuid(value: str) -> str:
    try:
        return str(UUID(value))
    except ValueError:
        raise Miswritten(Fact("not_an_id", given=value) if value else Fact("id_missing")) from None


@dataclass(frozen=True, kw_only=True)
class Identity(Table):
    """[nursery]"""

    together = between({"required": ["id"]})
    id: Annotated[str, Then(_is_uuid), EvenLeftOut(), Written(type="string", pattern=_IS_UUID)] = ""
    name: str = "Nursery"
    units: Literal["us", "metric"] = "metric"
    method: str = "sealed_bag"


@dataclass(frozen=True, kw_only=True)
class SpaceLimits(Table):
    """[space]; its light is that over the pots, where it is not that of the bin they came from"""

    pots_under_light: Annotated[int, Within(ge=0)] | None = None
    pots_outside: Annotated[int, Within(ge=0)] | None = None
    light: BinLight | None = None


@dataclass(frozen=True, kw_only=True)
class Away(Table):
    """one stretch of days away, both ends included"""

    first: Annotated[date, Key("from")]
    last: Annotated[date, Key("to")]

    def check(self) -> None:
        if self.last < self.first:
            raise Miswritten(Fact("days_backwards", first=self.first, last=self.last))


@dataclass(frozen=True, kw_only=True)
class Week(Table):
    """[week]; nobody works at the bench for longer than `longest` [hours] on a day"""

    bench_days: Annotated[tuple[Weekday, ...], Filled()] = ("tue", "fri", "sun")
    bench_time: ClockTime | None = None
    away: tuple[Away, ...] = ()
    post_days: tuple[Weekday, ...] = ("mon", "tue", "wed")
    holidays_off: bool = False
    longest: Annotated[Hours, Within(gt=0, le=24)] = 4.0


@dataclass(frozen=True, kw_only=True)
class HardeningWay(Table):
    """[hardening]; `nights` is where plants stand at night until they live out"""

    nights: Nights = "indoors"
    way: Literal["shade", "hours"] = "shade"
    cloths: tuple[Annotated[float, Within(gt=0, lt=1)], ...] = ()


@dataclass(frozen=True, kw_only=True)
class WeaningWay(Table):
    """[weaning]: whether bags are opened by steps before they are potted, or plants uncovered by steps in their pots"""

    when: Literal["bag", "pot"] = "bag"


@dataclass(frozen=True, kw_only=True)
class Gnats(Table):
    """[gnats]: what is done against fungus gnats"""

    way: Literal["larvicide", "nematodes", "drying", "traps"] = "larvicide"


@dataclass(frozen=True, kw_only=True)
class Sale(Table):
    """[sale]; the rest stands on the list for buyers; plants to come are promised at a chance of `promise_at`"""

    dormant: bool = True
    rooted: bool = True
    transit_days: Annotated[int, Within(ge=0, le=30)] | None = None
    promise_at: Annotated[float, Within(gt=0, lt=1)] = 0.8
    heading: str = ""
    place: str = ""
    contact: str = ""
    currency: str = ""
    terms: tuple[str, ...] = ()

    def sells(self, form: Literal["dormant", "rooted", "any"]) -> bool:
        """Whether plants of a form are sold here."""
        return {"dormant": self.dormant, "rooted": self.rooted}.get(form, self.dormant or self.rooted)


def _cold(written: object) -> object:
    warm_c = units.parse(written, "temperature")
    if not _STORE_C[0] <= warm_c <= _STORE_C[1]:
        raise Miswritten(Fact("no_cold_store", given=as_found(written)))
    return warm_c


@dataclass(frozen=True, kw_only=True)
class ColdRoom(Table):
    """[store]: how warm the cold store is in which dormant wood lies; by it goes when its buds swell"""

    temperature: Annotated[float, Read(_cold), Written(**quantity_schema("temperature"))] | None = None


def _number(written: object) -> object:
    """A variety's number as a table knows it: `7`, "7" and "07" are one."""
    if isinstance(written, bool) or not isinstance(written, int | str):
        return written
    return str(written).strip().lstrip("0") or str(written)


@dataclass(frozen=True, kw_only=True)
class Mother(Table):
    """[[mother]]: a plant that wood is cut from, from what year on, and whether nights outdoors reach it.

    Of several of one variety each has its own `place`. No wood is cut from one that is sick, none to sell of one in
    doubt.
    """

    variety: Annotated[str, Read(_number), Written(type=["string", "integer"])]
    place: str = ""
    since: Annotated[int, Within(ge=1500, le=2500)] | None = None
    sheltered: bool = False
    health: Literal["sound", "doubtful", "sick"] = "sound"
    note: str = ""


def _with_slash(address: str) -> str:
    return address if address.endswith("/") else f"{address}/"


@dataclass(frozen=True, kw_only=True)
class Calendar(Table):
    """[calendar]; `page` is the address of the bench page, which entries lead to; else that of the last `serve`"""

    alarm: Literal["none", "morning", "bench"] = "none"
    page: Annotated[str, matching(r"https?://[!-~]{1,60}", "address"), Then(_with_slash)] = ""


def _twice(own: Iterable[str], every: Iterable[str]) -> str:
    """The first of some names, by the alphabet, that stands twice among all, whatever its case; empty for none."""
    folded = [name.lower() for name in every]
    return min((name for name in own if folded.count(name.lower()) > 1), default="")


def _bins_differ(value: tuple[Bin, ...]) -> tuple[Bin, ...]:
    names = [item.name for item in value]
    if double := _twice(names, names):
        raise Miswritten(Fact("bin_twice", bin=double))
    return value


def _mothers_differ(value: tuple[Mother, ...]) -> tuple[Mother, ...]:
    places = [(each.variety, each.place.strip().lower()) for each in value]
    double = next((each for each in value if places.count((each.variety, each.place.strip().lower())) > 1), None)
    if double:
        raise Miswritten(Fact("mother_twice", number=double.variety, place=double.place))
    return value


@dataclass(frozen=True, kw_only=True)
class Settings(Table):
    """The whole of `nursery.toml`; what may stand in `supplies` the rulebook says (`in_hand`)."""

    nursery: Identity
    site: Site
    frost: Frost
    bin: Annotated[tuple[Bin, ...], Then(_bins_differ)] = ()
    growing: Annotated[tuple[GrowingPlace, ...], Key("place")] = ()
    mother: Annotated[tuple[Mother, ...], Then(_mothers_differ)] = ()
    shelter: tuple[Shelter, ...] = ()
    store: ColdRoom = ColdRoom()
    space: SpaceLimits = SpaceLimits()
    week: Week = Week()
    hardening: HardeningWay = HardeningWay()
    weaning: WeaningWay = WeaningWay()
    gnats: Gnats = Gnats()
    sale: Sale = Sale()
    calendar: Calendar = Calendar()
    supplies: Annotated[Mapping[str, Any], Written(**_IN_HAND)] = field(default_factory=dict)

    @cached_property
    def places(self) -> tuple[Bin, ...]:
        """Bins, and the other places where cuttings root, in their order."""
        return (*self.bin, *(each.stand() for each in self.growing))

    @property
    def all_bins(self) -> bool:
        """Whether cuttings root in bins alone, so that a name says enough."""
        return all(each.kind == "bin" for each in self.places)

    def called(self, place: str) -> str:
        """A place by its kind and name, as `Bin A`; `Elsewhere` for what stands in none."""
        titles = {each.name: each.title for each in self.places}
        return titles.get(place, f"Bin {place}") if place else "Elsewhere"

    def check(self) -> None:
        shelters, places = [each.name for each in self.shelter], [each.name for each in self.places]
        if double := _twice(shelters, (*shelters, *places)):
            raise Miswritten(Fact("shelter_twice", shelter=double))
        if double := _twice([each.name for each in self.growing], places):
            raise Miswritten(Fact("place_twice", place=double))
        if self.week.holidays_off:
            from almanac.site.holidays import known_country  # it costs start-up time, and few nurseries want it

            country, region = self.site.country, self.site.region
            problem = known_country(country, region) if country else Fact("no_country")
            if problem:
                raise Miswritten(Fact("holidays_unknown", why=problem))

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
            elevation_m=site.elevation or 0.0,
            radiation_mj=site.radiation,
        )

    def is_away(self, day: date) -> bool:
        """Whether the grower is away that day."""
        return any(stretch.first <= day <= stretch.last for stretch in self.week.away)

    def bin_named(self, name: str) -> Bin | None:
        """The bin, tray or bed of that name, whatever its case."""
        return next((item for item in self.places if item.name.lower() == name.lower()), None)

    def shelter_named(self, name: str) -> Shelter | None:
        """The shelter of that name, whatever its case."""
        return next((item for item in self.shelter if item.name.lower() == name.lower()), None)
