"""What may stand in [site] of `nursery.toml`: where the nursery lies, by position or town, and how bright it is."""

from __future__ import annotations

from typing import Annotated, Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from almanac import units
from almanac.faults import Fact, Miswritten, nearest
from almanac.plain import dataclass
from almanac.rulebook.fields import Quantity, Read, Table, Then, Unsaid, Within, Written, between
from almanac.site.light import clear_sky_by_month_mj
from almanac.site.place import Place

# Above the clear-sky model by more than this, a monthly mean is a slip: no month is without a cloud.
_CLEAR_MARGIN = 1.1
_RADIATION: dict[str, Any] = {
    "type": "array",
    "minItems": 12,
    "maxItems": 13,
    "items": {"anyOf": [{"type": "number"}, {"type": "string"}]},
}


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
    elevation: Annotated[float, Quantity("elevation"), Unsaid(0.0)] | None = None
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
