"""The conversation of `new`: what is asked in which order, what is shown in between, and what comes of it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import get_args
from uuid import uuid4

from almanac import units as written
from almanac.actions.start import faults_in, frost_nearby, known_crops, usual_air, usual_mat, variety_faults
from almanac.cli.asking import Asking, Check
from almanac.faults import Fact, Refusal
from almanac.nursery.new import Answers
from almanac.site.stations import NoStationError
from almanac.site.towns import Town, UnknownTownError, find_town
from almanac.terminal.started import crops_text, frost_text, town_text, without_station_text
from almanac.words.faults import fact_text

_NEAREST, _NEVER = "nearest", "never"
_IN_SEASON = {False: "10-15", True: "04-15"}  # a first frost to try a last one with, by whether it is the south
_MOST_VARIETIES = 200
_USUAL = {"bench_days": "tue,fri,sun", "bins": "A", "bags": "24"}


def answers_asked(asking: Asking, folder: Path) -> Answers:
    """Every answer, those that no option gives asked for in a terminal.

    Raises:
        Refusal: something is needed and there is no terminal to ask in, or the town given is not known
        click.Abort: the grower leaves
    """
    if asking.goes_on:
        asking.say("Going on from where you left:")

    def check(key: str) -> Check:
        return lambda answer: _wrong({**asking.answers, key: answer}, folder)

    asking.ask("name", "Name of the nursery", folder.absolute().name)
    town = _place(asking)
    asking.ask("timezone", "Time zone, such as America/New_York", None, check("timezone"))
    country = asking.ask("country", "Country, two letters (for holidays)", "", check("country")).upper()
    if town and country == town.country_code:
        asking.answers.setdefault("region", town.region_code)
    units = asking.ask("units", "Units, us or metric", "us" if country == "US" else "metric", _no_units)
    height = f"Height above the sea, such as {'1150 ft' if units == 'us' else '350 m'} (blank: not known)"
    asking.ask("elevation", height, "", check("elevation"))
    _frost(asking, folder)
    asking.ask("bench_days", "Days you go through the bags", _USUAL["bench_days"], check("bench_days"))
    asking.ask("bins", "Names of your bins, such as A,B", _USUAL["bins"], check("bins"))
    asking.ask("bags", "Bags a bin holds", _USUAL["bags"], _whole)
    asking.ask("mat", "What the mats are set to", usual_mat(units), check("mat"))
    asking.ask("air", "How warm it is round the tops", usual_air(units), check("air"))
    _varieties(asking)
    return _answers(asking.answers, folder)


def _place(asking: Asking) -> Town | None:
    """The town, which tells what no option says; else the position is asked for. None where no town is known."""
    answers = asking.answers
    placed = bool({"latitude", "longitude"} & answers.keys())
    by_option = "town" in answers
    written = answers.get("town", "")
    if asking.in_terminal and not placed:
        question = "Town, such as Ames, Iowa (blank: give its position)"
        written = asking.ask("town", question, "", _no_town)
    needed = not placed or "timezone" not in answers
    town = None
    if written and needed:
        try:
            town = find_town(written)
        except UnknownTownError as error:
            if by_option and not placed:
                raise Refusal(error.fact) from None
    if town:
        answers.setdefault("timezone", town.timezone)
        answers.setdefault("country", town.country_code)
    if town and not placed:
        own = town.is_called(written)
        answers |= {"town": written if own else str(town)}  # a slip of the key is not kept
        answers |= {"latitude": str(town.latitude_deg), "longitude": str(town.longitude_deg)}
        if asking.in_terminal:
            asking.show(town_text(town))
    for key, positive in (("latitude", "north"), ("longitude", "east")):
        if key not in answers and not asking.in_terminal:
            raise Refusal(Fact("needs_place", option=f"--{key}"))
        asking.ask(key, f"{key.capitalize()} in degrees, {positive} positive", None, _no_degrees)
    return town


def _no_town(answer: str) -> list[str]:
    try:
        if answer:
            find_town(answer)
    except UnknownTownError as error:
        return [fact_text(error.fact)]
    return []


def _no_degrees(answer: str) -> list[str]:
    try:
        return [] if abs(float(answer)) <= 180 else [f"{answer} is no degree of the earth."]
    except ValueError:
        return [f"'{answer}' is not a number of degrees; write it like 37.27 or -79.94."]


def _no_units(answer: str) -> list[str]:
    return [] if answer in get_args(written.System) else [f"'{answer}' is neither us nor metric."]


def _whole(answer: str) -> list[str]:
    fits = re.fullmatch(r"[1-9][0-9]{0,4}", answer)
    return [] if fits else [f"'{answer}' is not a number of bags; write digits alone."]


def _frost(asking: Asking, folder: Path) -> None:
    """The frost dates: those of the nearest station, shown with what they are worth, or typed, or none."""
    answers = asking.answers
    default: str | None = _NEAREST
    if asking.in_terminal and "last_frost" not in answers:
        here = _answers(answers, folder)
        try:
            near, found = frost_nearby(here)
            asking.show(frost_text(near, found, here.units))
        except NoStationError as error:
            default = None
            asking.show(without_station_text(fact_text(error.fact)))
    elif "first_frost" in answers:
        default = None

    def wrong(key: str) -> Check:
        southern = float(answers["latitude"]) < 0
        beside = {"first_frost": _IN_SEASON[southern]} if key == "last_frost" else {}
        return lambda answer: _wrong({**answers, **beside, key: answer}, folder)

    question = f"Last spring frost: {f'{_NEAREST}, ' if default else ''}a date such as 04-17, or never"
    last = asking.ask("last_frost", question, default, wrong("last_frost"))
    if _dateless(last):
        answers["first_frost"] = last
    else:
        asking.ask("first_frost", "First autumn frost, month-day such as 10-18", None, wrong("first_frost"))


def _dateless(answer: str) -> bool:
    return answer.strip().lower() in (_NEVER, _NEAREST)


def _varieties(asking: Asking) -> None:
    """The first varieties, until one is left blank; kept as lines of one answer."""
    if "varieties" in asking.answers or not asking.in_terminal:
        return
    kept = asking.kept("varieties")
    lines = kept.splitlines()
    asking.show(crops_text(known_crops()))
    for line in lines:
        asking.say(f"Variety: {line}")

    def wrong(answer: str) -> list[str]:
        if not answer:
            return []
        if not all(_variety(answer)):
            return ["Write its number, its name and its crop, with commas: 1, Old brown, fig"]
        every = [_variety(line) for line in (*lines, answer)]
        return [fact_text(fault.fact) for fault in variety_faults(every)]

    while len(lines) < _MOST_VARIETIES:
        question = "The next variety" if lines else "A variety, such as 1, Old brown, fig"
        answer = asking.once(f"{question} (blank: no more)", wrong)
        if not answer:
            break
        lines.append(answer)
        asking.keep("varieties", "\n".join(lines))
    asking.answers["varieties"] = "\n".join(lines)


def _variety(line: str) -> tuple[str, str, str]:
    """Number, name and crop; a name may have commas. What is left out is blank."""
    first, *middle = (part.strip() for part in line.split(","))
    return (first, ", ".join(middle[:-1]), middle[-1] if middle else "")


def _wrong(texts: Mapping[str, str], folder: Path) -> list[str]:
    """What is wrong with the answers so far, as the files made from them would have it."""
    try:
        return [fact_text(fault.fact) for fault in faults_in(_answers(texts, folder), folder)]
    except Refusal as refusal:
        return [fact_text(refusal.fact)]


def _answers(texts: Mapping[str, str], folder: Path) -> Answers:
    """Answers from what was typed; what is not answered yet as a nursery can have it."""
    texts = {**_USUAL, **texts}
    last, first = texts.get("last_frost", _NEVER), texts.get("first_frost", _NEVER)
    return Answers(
        id=str(uuid4()),
        name=texts.get("name") or folder.absolute().name,
        units="us" if texts.get("units", "metric") == "us" else "metric",
        latitude=float(texts["latitude"]),
        longitude=float(texts["longitude"]),
        timezone=texts.get("timezone", "UTC"),
        country=texts.get("country", "").upper(),
        region=texts.get("region", ""),
        town=texts.get("town", ""),
        elevation=texts.get("elevation", ""),
        last_frost=_dates(last),
        first_frost=_dates(first),
        nearest_station=last.strip().lower() == _NEAREST,
        frost_source=texts.get("frost_source", ""),
        bins=_words(texts["bins"]),
        bags=int(texts["bags"]),
        mat=texts.get("mat", ""),
        air=texts.get("air", ""),
        varieties=[_variety(line) for line in texts.get("varieties", "").splitlines()],
        bench_days=[day.lower()[:3] for day in _words(texts["bench_days"])],
        bench_time=texts.get("bench_time", ""),
    )


def _words(text: str) -> list[str]:
    return [word for word in re.split(r"[,\s]+", text.strip()) if word]


def _dates(text: str) -> list[tuple[str, str]]:
    """`04-17` or `90%=04-04,50%=04-17` as pairs of chance and day; a day alone is the middle one."""
    if _dateless(text):
        return []
    pairs = []
    for part in text.split(","):
        chance, separator, day = part.partition("=")
        pairs.append((chance.strip(), day.strip()) if separator else ("50%", part.strip()))
    twice = [chance for chance, _ in pairs if [each for each, _ in pairs].count(chance) > 1]
    if twice:
        raise Refusal(Fact("chance_twice", chance=twice[0], given=text))
    return pairs
