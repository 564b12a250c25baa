"""How far frost dates usually spread about their middle: gives the figures that ship with the program."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True)
class FrostSpread:
    """Standard deviations from year to year of the last and of the first frost date [days]; their source."""

    spring_sd_days: float
    autumn_sd_days: float
    source: str


@cache
def usual_spread() -> FrostSpread:
    """The spread to assume for a place that has published a single date; read once."""
    text = files("almanac.site").joinpath("data", "frost_spread.toml").read_text(encoding="utf-8")
    return FrostSpread(**tomllib.loads(text))
