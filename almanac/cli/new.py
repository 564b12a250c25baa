"""`new`: make a nursery's folder, asking in a terminal what no option says."""

from __future__ import annotations

import re
import sys
from pathlib import Path
from uuid import uuid4

import click

from almanac.cli.common import Shell, shared_options, show
from almanac.faults import Refusal

_WHERE_FROST_DATES_ARE = (
    "Your weather service or county extension office lists freeze dates with their chances, station by station. "
    "Take one at your height; a date alone (the middle one) will do to begin with."
)
_DATES_HELP = "Dates such as 04-17, or with chances: '90%=04-04,50%=04-17,10%=04-30'; 'never' where it never freezes."


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--name", help="The nursery's name. [default: the folder's]")
@click.option("--units", type=click.Choice(["us", "metric"]), help="How values are shown.")
@click.option("--town", default="", help="The town, as you call it.")
@click.option("--latitude", type=float, help="Degrees, north positive.")
@click.option("--longitude", type=float, help="Degrees, east positive.")
@click.option("--elevation", default="", help="Such as '1150 ft' or '350 m'.")
@click.option("--timezone", help="Such as America/New_York.")
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

    Example: stickdate new quince-lane --latitude 37.27 --longitude -79.94
    --timezone America/New_York --country US --last-frost 04-17
    --first-frost 10-18 --units us
    """
    from almanac.actions.start import refuse_existing, start
    from almanac.nursery.new import Answers

    refuse_existing(folder)
    latitude = _degrees(given["latitude"], "--latitude", "Latitude in degrees, north positive")
    longitude = _degrees(given["longitude"], "--longitude", "Longitude in degrees, east positive")
    timezone = _asked(given["timezone"], "--timezone", "Time zone, such as America/New_York")
    country = _asked(given["country"], "--country", "Country, two letters (for holidays)", "")
    if sys.stdin.isatty() and given["last_frost"] is None:
        click.echo(click.wrap_text(_WHERE_FROST_DATES_ARE, 78))
    last = _asked(given["last_frost"], "--last-frost", "Last spring frost, month-day (or never)")
    first = (
        "never" if last == "never" else _asked(given["first_frost"], "--first-frost", "First autumn frost, month-day")
    )
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
        region=str(given["region"]),
        town=str(given["town"]),
        elevation=str(given["elevation"]),
        last_frost=_dates(last),
        first_frost=_dates(first),
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
    raise Refusal(f"{option} is needed where there is no terminal to ask in")


def _degrees(given: object, option: str, question: str) -> float:
    """A number of degrees, asked for again until it is one."""
    if isinstance(given, float):
        return given
    if sys.stdin.isatty():
        answer: float = click.prompt(question, type=float)
        return answer
    raise Refusal(f"{option} is needed where there is no terminal to ask in")


def _words(text: str) -> list[str]:
    return [word for word in re.split(r"[,\s]+", text.strip()) if word]


def _dates(text: str) -> list[tuple[str, str]]:
    """`04-17` or `90%=04-04,50%=04-17` as pairs of chance and day; a day alone is the middle one."""
    if text.strip().lower() == "never":
        return []
    pairs = []
    for word in _words(text):
        chance, separator, day = word.partition("=")
        pairs.append((chance.strip(), day.strip()) if separator else ("50%", chance.strip()))
    return pairs
