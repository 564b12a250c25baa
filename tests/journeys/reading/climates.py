"""The places whose seasons are read: invented, each likely for its climate, in both hemispheres."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path

from almanac.nursery.nursery import Nursery
from almanac.site.place import Place
from almanac.site.sun import shortest_day
from tests.nurseries import NO_FROST, Parts, bench, frost_dates

TWO_DAYS = 'bench_days = ["tue", "fri"]\nholidays_off = true'
LAMP = "{ ppfd = 120, hours = 16 }"
VARIETIES = """number,name,crop,source,protected,price_cutting,price_plant,note
1,Plain one,fig,own,,4,14,
2,Hardy one,black_currant,own,,3,9,
3,Guarded one,fig,trade,yes,,,
"""
# Figs on a warm mat, currants on a cool one; a third bin takes what comes off the mat.
BINS = Parts(
    bins="ABC",
    bags=40,
    mat={"A": "25 C", "B": "60 F", "C": "18 C"},
    air={"A": "20 C", "B": "18 C", "C": "18 C"},
    light={"A": LAMP, "B": LAMP, "C": LAMP},
    week=TWO_DAYS,
    varieties=VARIETIES,
    space="pots_under_light = 10\npots_outside = 200",
)


def lows(*each_c: int) -> str:
    return f"[frost]\nmonthly = {{ lows = {[f'{low} C' for low in each_c]} }}"


@dataclass(frozen=True)
class Climate:
    """A place; its year is told from the middle of its winter, which the tropics take from the northern calendar."""

    name: str
    parts: Parts

    def of_one_crop(self) -> Climate:
        """The same place, where figs alone are grown: half the time."""
        figs = [line for line in VARIETIES.splitlines(keepends=True) if "black_currant" not in line]
        return replace(self, parts=self.parts | Parts(varieties="".join(figs)))

    @property
    def freezes(self) -> bool:
        return self.parts["frost"] != NO_FROST

    def midwinter(self, year: int = 2026) -> date:
        """The shortest day in the year, or the December solstice where days hardly differ."""
        place = Place(
            latitude_deg=self.parts["latitude"], longitude_deg=self.parts["longitude"], timezone=self.parts["timezone"]
        )
        return date(year, 12, 21) if place.tropical else shortest_day(place, year)

    def nursery(self, folder: Path) -> Nursery:
        """Its nursery without a row, as seen long after the walk."""
        return bench(folder, "", self.midwinter() + timedelta(days=2000), **(BINS | self.parts))


def _place(latitude: float, longitude: float, timezone: str, country: str, frost: str, **more: str) -> Parts:
    at = Parts(latitude=latitude, longitude=longitude, timezone=timezone, country=country, frost=frost)
    for table in more:
        at[table] = more[table]  # type: ignore[literal-required]  # tables by their names
    return at


CLIMATES = (
    Climate(
        "cold",
        _place(45.0, -93.0, "America/Chicago", "US", lows(-18, -16, -9, 0, 6, 12, 14, 13, 8, 1, -8, -15)),
    ),
    Climate("mild", _place(50.3, -4.9, "Europe/London", "GB", lows(3, 3, 4, 6, 8, 11, 13, 13, 11, 8, 5, 4))),
    Climate(
        "inland",
        _place(
            37.3,
            -79.9,
            "America/New_York",
            "US",
            frost_dates("04-04 04-17 04-30", "10-05 10-18 11-02"),
            hardening="cloths = [0.5]",
        ),
    ),
    Climate(
        "hot",
        _place(
            33.4,
            -112.0,
            "America/Phoenix",
            "US",
            lows(7, 9, 12, 16, 21, 26, 29, 28, 25, 18, 11, 7),
            hardening='way = "hours"\ncloths = [0.5]',
        ),
    ),
    Climate(
        "southern",
        _place(
            -37.0,
            145.0,
            "Australia/Melbourne",
            "AU",
            frost_dates("09-02 09-22 10-14", "04-25 05-16 06-08"),
        ),
    ),
    Climate("frost-free", _place(20.0, -156.0, "Pacific/Honolulu", "US", NO_FROST)),
)
