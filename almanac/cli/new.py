"""`new`: make a nursery's folder, asking in a terminal what no option says."""

from __future__ import annotations

import re
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

import click

from almanac.cli.common import Shell, shared_options, show
from almanac.faults import Fact, Refusal

if TYPE_CHECKING:
    from almanac.site.towns import Town

_BETTER_FROST_DATES = (
    "Better frost dates than those of the table that ships come from your weather service or county extension office: "
    "freeze dates with their chances, for a station at your height. Better still is that station's daily record of "
    "lows; name its file as record under [frost] in nursery.toml. Where only mean lows of the months are to be had, "
    "monthly there makes an estimate of them."
)
_NEAREST = "nearest"
_DATES_HELP = (
    "Dates such as 04-17, or with chances: '90%=04-04,50%=04-17,10%=04-30'; 'never' where it never freezes. "
    "[default: the nearest station's]"
)


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--name", help="The nursery's name. [default: the folder's]")
@click.option("--units", type=click.Choice(["us", "metric"]), help="How values are shown.")
@click.option("--town", help="Such as 'Ames, Iowa': position and time zone of a town of over 15,000 are known.")
@click.option("--latitude", type=float, help="Degrees, north positive. [default: the town's]")
@click.option("--longitude", type=float, help="Degrees, east positive. [default: the town's]")
@click.option("--elevation", help="Such as '1150 ft' or '350 m'.")
@click.option("--timezone", help="Such as America/New_York. [default: the town's]")
@click.option("--country", help="Two letters, such as US, for public holidays.")
@click.option("--region", default="", help="State or province, such as VA.")
@click.option("--last-frost", help=f"Last spring frost. {_DATES_HELP}")
@click.option("--first-frost", help="First autumn frost, likewise.")
@click.option("--frost-source", default="", help="Where the frost dates come from.")
@click.option("--bins", help="Names of bins, such as A,B.")
@click.option("--bags", type=click.IntRange(min=1), default=24, show_default=True, help="Bags a bin holds.")
@click.option("--bench-days", default="tue,fri,sun", show_default=True, help="The days you go through the bags.")
@click.option("--bench-time", default="", help="Such as 18:30; left out, entries are all-day.")
@shared_options
def new(shell: Shell, folder: Path, **given: str | float | None) -> None:
    """Make a nursery folder.

    Asks a few questions in a terminal; every answer may be given as an option
    instead. The files it writes are made to be edited by hand.

    Example: stickdate new quince-lane --town "Roanoke, Virginia"
    --elevation "1150 ft" --last-frost 04-17 --first-frost 10-18
    """
    from almanac.actions.start import refuse_existing, start
    from almanac.nursery.new import Answers

    refuse_existing(folder)
    town = _town(given)
    known = town if given["latitude"] is None and given["longitude"] is None else None
    latitude = known.latitude_deg if known else _degrees(given["latitude"], "--latitude", "north")
    longitude = known.longitude_deg if known else _degrees(given["longitude"], "--longitude", "east")
    told = {"timezone": town.timezone, "country": town.country_code} if town else {}
    told |= {key: value for key, value in given.items() if key in ("timezone", "country") and isinstance(value, str)}
    timezone = _asked(told.get("timezone"), "--timezone", "Time zone, such as America/New_York")
    country = _asked(told.get("country"), "--country", "Country, two letters (for holidays)", "")
    elevation = _asked(given["elevation"], "--elevation", "Height above the sea, such as 1150 ft or 350 m", "")
    asking = sys.stdin.isatty() and given["last_frost"] is None
    if asking:
        click.echo(click.wrap_text(_BETTER_FROST_DATES, 78))
    question = "Last spring frost, month-day, or never, or nearest (the nearest station's)"
    last = _asked(given["last_frost"], "--last-frost", question, None if given["first_frost"] else _NEAREST)
    dateless = last.strip().lower() in ("never", _NEAREST)
    first = last if dateless else _asked(given["first_frost"], "--first-frost", "First autumn frost, month-day")
    units = _asked(
        given["units"], "--units", "Show values in us or metric units", "us" if country.upper() == "US" else "metric"
    )
    bins = _asked(given["bins"], "--bins", "Names of your bins", "A")
    answers = Answers(
        id=str(uuid4()),
        name=str(given["name"] or folder.absolute().name),
        units="us" if units == "us" else "metric",
        latitude=latitude,
        longitude=longitude,
        timezone=timezone,
        country=country.upper(),
        region=str(given["region"]) or (town.region_code if town and country.upper() == town.country_code else ""),
        town=str(given["town"] or town or ""),
        elevation=elevation,
        last_frost=_dates(last),
        first_frost=_dates(first),
        nearest_station=last.strip().lower() == _NEAREST,
        frost_source=str(given["frost_source"]),
        bins=_words(bins),
        bags=int(given["bags"] or 24),
        bench_days=[day.lower() for day in _words(str(given["bench_days"]))],
        bench_time=str(given["bench_time"]),
    )
    written = start(folder, answers)
    text = (
        f"Made {folder}. Next: write your varieties into varieties.csv there, one line\neach, then log what you have:\n"
    )
    if answers.nearest_station and not asking:
        text = f"{click.wrap_text(_BETTER_FROST_DATES, 78)}\n{text}"
    text += f"  stickdate --nursery {folder} log taken 1 --count 12\n"
    show(shell, text, {"written": [str(path) for path in written]})


def _asked(given: object, option: str, question: str, default: str | None = None) -> str:
    """The answer given as an option, else asked for in a terminal, else the default."""
    if given is not None:
        return str(given)
    if sys.stdin.isatty():
        answer: str = click.prompt(question, default=default, show_default=bool(default))
        return answer.strip()
    if default is not None:
        return default
    raise Refusal(Fact("needs_option", option=option))


def _town(given: Mapping[str, object]) -> Town | None:
    """The town that tells what no option says, asked for in a terminal until it is known or left blank.

    Raises:
        Refusal: the town given is not known, and its position is not given either
    """
    position = [given["latitude"], given["longitude"]]
    if None not in position and (given["timezone"] is not None or not given["town"]):
        return None
    from almanac.site.towns import UnknownTownError, find_town
    from almanac.words.faults import fact_text

    town, placed = given["town"], position != [None, None]
    while True:
        if town is None and sys.stdin.isatty() and not placed:
            question = "Town, such as Ames, Iowa (blank: you will be asked for its position)"
            town = click.prompt(question, default="", show_default=False)
        if not town:
            return None
        try:
            return find_town(str(town))
        except UnknownTownError as error:
            if placed:
                return None  # its own name for its own position
            if given["town"] is not None:
                raise Refusal(error.fact) from None
            click.echo(click.wrap_text(fact_text(error.fact), 78))
            town = None


def _degrees(given: object, option: str, positive: str) -> float:
    """A number of degrees, asked for again until it is one."""
    if isinstance(given, float):
        return given
    if sys.stdin.isatty():
        answer: float = click.prompt(f"{option[2:].capitalize()} in degrees, {positive} positive", type=float)
        return answer
    raise Refusal(Fact("needs_place", option=option))


def _words(text: str) -> list[str]:
    return [word for word in re.split(r"[,\s]+", text.strip()) if word]


def _dates(text: str) -> list[tuple[str, str]]:
    """`04-17` or `90%=04-04,50%=04-17` as pairs of chance and day; a day alone is the middle one."""
    if text.strip().lower() in ("never", _NEAREST):
        return []
    pairs = []
    for part in text.split(","):
        chance, separator, day = part.partition("=")
        pairs.append((chance.strip(), day.strip()) if separator else ("50%", part.strip()))
    twice = [chance for chance, _ in pairs if [each for each, _ in pairs].count(chance) > 1]
    if twice:
        raise Refusal(Fact("chance_twice", chance=twice[0], given=text))
    return pairs
