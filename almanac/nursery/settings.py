"""What may stand in `nursery.toml`, checked as it comes in; then site, frost table and bins made of it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import field
from datetime import date, time
from functools import cached_property
from typing import Annotated, Any, Literal
from uuid import UUID
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from almanac import units
from almanac.faults import Fact, Miswritten, as_found, nearest
from almanac.plain import dataclass
from almanac.rulebook.fields import (
    EvenLeftOut,
    Filled,
    Hours,
    Key,
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
from almanac.rulebook.models import Where
from almanac.site.light import clear_sky_by_month_mj
from almanac.site.place import Place

Nights = Literal["indoors", "frame", "fleece"]
Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
# Above the clear-sky model by more than this, a monthly mean is a slip: no month is without a cloud.
_CLEAR_MARGIN = 1.1
_MOST_PPFD = 3000  # the sun at noon gives some 2,000 µmol m⁻² s⁻¹, no lamp over cuttings half as much again
_STORE_C = (-3.0, 12.0)  # below it wood freezes in the bag, above it is no cold store
LAMP_ON = time(6)  # a lamp goes on then, where its bin does not say otherwise
# What an editor is told of values that are read from another form than they are kept in.
_CLOCK = Written(type="string", pattern=r"^([01]?[0-9]|2[0-3]):[0-5][0-9]$", examples=["18:30"])
_RADIATION: dict[str, Any] = {
    "type": "array",
    "minItems": 12,
    "maxItems": 13,
    "items": {"anyOf": [{"type": "number"}, {"type": "string"}]},
}
_FROST_DAYS: dict[str, Any] = {
    "type": "object",
    "patternProperties": {r"^[0-9]{1,2}(\.[0-9]+)? ?%$": {"type": "string", "pattern": "^[0-9]{2}-[0-9]{2}$"}},
    "additionalProperties": False,
}
_IN_HAND: dict[str, Any] = {
    "type": "object",
    "additionalProperties": {"anyOf": [{"type": "integer", "minimum": 0}, quantity_schema("volume")]},
}
_IS_UUID = r"^(urn:)?(uuid:)?\{?([0-9a-fA-F]-*){32}\}?$"  # as `uuid.UUID` reads it
WEEKDAYS: tuple[Weekday, ...] = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def _elevation_m(written: object) -> float:
    return units.parse(written, "elevation")


def _clock(written: object) -> object:
    match = re.fullmatch(r"([01]?\d|2[0-3]):([0-5]\d)", written) if isinstance(written, str) else None
    if not match:
        raise Miswritten(Fact("not_a_time", given=as_found(written)))
    return time(int(match[1]), int(match[2]))


def _radiation_mj(written: object) -> object:
    """Twelve values that each carry a unit, or twelve numbers and then their common one."""
    if not isinstance(written, list):
        return written
    values = list(written)
    if len(values) == 13 and isinstance(values[-1], str):
        unit = values.pop().split()[0:1]
        values = [f"{value} {''.join(unit)}" if isinstance(value, int | float) else value for value in values]
    if len(values) != 12:
        raise Miswritten(Fact("not_twelve_means", values=len(values)))
    return [units.parse(value, "radiation") for value in values]


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


def _is_zone(value: str) -> str:
    try:
        ZoneInfo(value)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        from zoneinfo import available_timezones

        raise Miswritten(Fact("no_zone", given=value, near=nearest(value, available_timezones()))) from None
    return value


@dataclass(frozen=True, kw_only=True)
class Site(Table):
    """[site]; a town alone will do for position and time zone, and then brings its country, too"""

    together = between(
        {"anyOf": [{"required": ["town"]}, {"required": ["latitude", "longitude", "timezone"]}]}, required=()
    )
    latitude: Annotated[float, Within(ge=-90, le=90)]
    longitude: Annotated[float, Within(ge=-180, le=180)]
    elevation: Annotated[float, Read(_elevation_m), Written(**quantity_schema("elevation")), Unsaid(0.0)] | None = None
    timezone: Annotated[str, Then(_is_zone)]
    country: str = ""
    region: str = ""
    radiation: Annotated[tuple[float, ...], Read(_radiation_mj), Written(**_RADIATION)] = ()
    town: str = ""

    @classmethod
    def taken(cls, written: dict[str, Any]) -> dict[str, Any]:
        return _with_position(written)

    def check(self) -> None:
        place = Place(
            latitude_deg=self.latitude, longitude_deg=self.longitude, timezone="UTC", elevation_m=self.elevation or 0.0
        )
        clear = clear_sky_by_month_mj(place, 2001) if self.radiation else ()
        for month, (mean, most) in enumerate(zip(self.radiation, clear, strict=bool(clear)), 1):
            if mean > most * _CLEAR_MARGIN + 0.5:
                raise Miswritten(Fact("brighter_than_clear", month=month, mean_mj=mean, clear_mj=most))


def _with_position(written: dict[str, object]) -> dict[str, object]:
    """[site] with what its town tells and the file does not say; one of latitude and longitude alone is no position."""
    town, has_position = written.get("town"), bool({"latitude", "longitude"} & written.keys())
    if not isinstance(town, str) or not town.strip() or (has_position and "timezone" in written):
        return written
    from almanac.site.towns import UnknownTownError, find_town  # not paid by those who write their position

    try:
        found = find_town(town)
    except UnknownTownError:
        if has_position:
            return written  # then the town is but a name, and the time zone is what is missing
        raise
    if has_position:
        return {"timezone": found.timezone, **written}
    told: dict[str, object] = {"latitude": found.latitude_deg, "longitude": found.longitude_deg}
    told |= {"timezone": found.timezone}
    if not {"country", "region"} & written.keys():
        told |= {"country": found.country_code, "region": found.region_code}
    return told | written


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


@dataclass(frozen=True, kw_only=True)
class BinLight(Table):
    """light of a bin: photons of the lamp at the leaves [µmol m⁻² s⁻¹], the most hours a day it may burn, from when on

    `share` of the outdoor light reaches the leaves too, unless the bin is closed.
    """

    together = between(
        {
            "if": {"properties": {"where": {"enum": ["window", "greenhouse"]}}, "required": ["where"]},
            "then": {"required": ["share"]},
            "else": {"properties": {"share": False}},
        }
    )
    ppfd: Annotated[float, Within(gt=0, le=_MOST_PPFD)]
    hours: Annotated[float, Within(gt=0, le=24)]
    where: Literal["closed", "window", "greenhouse"] = "closed"
    share: Annotated[float, Within(gt=0, le=1)] | None = None
    on: Annotated[time, Read(_clock), _CLOCK] = LAMP_ON

    def check(self) -> None:
        if self.where == "closed" and self.share is not None:
            raise Miswritten(Fact("share_in_the_dark"))
        if self.where != "closed" and self.share is None:
            raise Miswritten(Fact("no_share_of_light", where=self.where))


BinWarmth = Annotated[float, Read(units.parse_warmth), Written(**quantity_schema("temperature"))]
BinName = Annotated[str, matching(r"[A-Za-z][A-Za-z0-9_-]{0,19}", "bin_name")]


@dataclass(frozen=True, kw_only=True)
class Bin(Table):
    """[[bin]]"""

    name: BinName
    bags: Annotated[int, Within(ge=1)] = 24
    mat: BinWarmth
    air: BinWarmth
    light: BinLight | None = None

    @property
    def kind(self) -> Where:
        """What cuttings in it root in."""
        return "bin"

    @property
    def title(self) -> str:
        """What it is called: `Bin A`, `Tray T`, `Bed L`."""
        return f"{self.kind.capitalize()} {self.name}"

    @property
    def heated(self) -> bool:
        """Whether its base has a warmth of its own."""
        return True


@dataclass(frozen=True, kw_only=True)
class Stand(Bin):
    """A [[place]] as those who place lots know it: a bin of its kind; of a bed the site says how warm it is."""

    of_kind: Where
    on_mat: bool

    @property
    def kind(self) -> Where:
        return self.of_kind

    @property
    def heated(self) -> bool:
        return self.on_mat


@dataclass(frozen=True, kw_only=True)
class GrowingPlace(Table):
    """[[place]]: a bin, a tray or a bed, and how many bags, cells or sticks it holds.

    Where there is no `mat` the base has the warmth of the `air`; a bed has neither, as it lies outdoors.
    """

    name: BinName
    kind: Where
    holds: Annotated[int, Within(ge=1)]
    mat: BinWarmth | None = None
    air: BinWarmth | None = None
    light: BinLight | None = None

    def check(self) -> None:
        given = {"mat": self.mat, "air": self.air, "light": self.light}
        of_bed = [name for name, value in given.items() if value is not None] if self.kind == "bed" else []
        if of_bed:
            raise Miswritten(Fact("bed_with_warmth", key=of_bed[0]))
        if self.kind != "bed" and self.air is None:
            raise Miswritten(Fact("place_without_air", kind=self.kind))

    def stand(self) -> Stand:
        """As a bin of its kind."""
        air = OUTDOORS_C if self.air is None else self.air
        mat = air if self.mat is None else self.mat
        return Stand(
            name=self.name,
            bags=self.holds,
            mat=mat,
            air=air,
            light=self.light,
            of_kind=self.kind,
            on_mat=self.mat is not None,
        )


OUTDOORS_C = 10.0  # stands for the warmth of a bed until its site is known


@dataclass(frozen=True, kw_only=True)
class Shelter(Table):
    """[[shelter]]: where pots spend the winter, and how many it holds; a frame or house with light is not `dark`"""

    name: Annotated[str, matching(r"[A-Za-z][A-Za-z0-9_-]{0,19}", "bin_name")]
    pots: Annotated[int, Within(ge=0)] | None = None
    dark: bool = True


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
    bench_time: Annotated[time, Read(_clock), _CLOCK] | None = None
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


def _bins_differ(value: tuple[Bin, ...]) -> tuple[Bin, ...]:
    names = [item.name.lower() for item in value]
    double = sorted({item.name for item in value if names.count(item.name.lower()) > 1})
    if double:
        raise Miswritten(Fact("bin_twice", bin=double[0]))
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

    def called(self, place: str) -> str:
        """A place by its kind and name, as `Bin A`; `Elsewhere` for what stands in none."""
        titles = {each.name: each.title for each in self.places}
        return titles.get(place, f"Bin {place}") if place else "Elsewhere"

    def check(self) -> None:
        self._shelters_differ()
        self._places_differ()
        self._holidays_are_known()

    def _shelters_differ(self) -> None:
        names = [*(item.name.lower() for item in self.shelter), *(item.name.lower() for item in self.places)]
        double = sorted({each.name for each in self.shelter if names.count(each.name.lower()) > 1})
        if double:
            raise Miswritten(Fact("shelter_twice", shelter=double[0]))

    def _places_differ(self) -> None:
        names = [item.name.lower() for item in self.places]
        double = sorted({each.name for each in self.growing if names.count(each.name.lower()) > 1})
        if double:
            raise Miswritten(Fact("place_twice", place=double[0]))

    def _holidays_are_known(self) -> None:
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
