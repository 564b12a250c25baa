"""A place on the earth: takes position and time zone, gives its clock and its hemisphere. Pure."""

from zoneinfo import ZoneInfo

from almanac.plain import dataclass

_TROPIC_DEG = 23.44  # how far the earth's axis leans (the obliquity of the ecliptic; Astronomical Almanac)


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where a nursery lies.

    Args:
        latitude_deg: north is positive [degrees, -90 to 90]
        longitude_deg: east is positive [degrees, -180 to 180]
        timezone: its name in the time zone database, such as "America/New_York"
        country, region: codes for public holidays, such as "US" and "VA"; blank where none are wanted
        town: as the grower calls it
        elevation_m: above the sea [m]
        radiation_mj: usual global radiation by month, January first [MJ m-2 d-1]; empty where not known
    """

    latitude_deg: float
    longitude_deg: float
    timezone: str
    country: str = ""
    region: str = ""
    town: str = ""
    elevation_m: float = 0.0
    radiation_mj: tuple[float, ...] = ()

    @property
    def zone(self) -> ZoneInfo:
        """The clock of the place. Raises `ZoneInfoNotFoundError` where the name is unknown."""
        return ZoneInfo(self.timezone)

    @property
    def southern(self) -> bool:
        """Whether the seasons are those of the south; the equator counts as north."""
        return self.latitude_deg < 0

    @property
    def tropical(self) -> bool:
        """Whether the sun stands overhead on some day of the year: there is no winter there by the calendar."""
        return abs(self.latitude_deg) < _TROPIC_DEG
