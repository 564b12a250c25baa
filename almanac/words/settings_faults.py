"""What is wrong with `nursery.toml` and the place it names; the sentence of each kind. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from almanac.faults import clipped
from almanac.site.towns import Town
from almanac.words.milestones import held_out
from almanac.words.season import too_little_cold
from almanac.words.sentences import Sentence, listed

_SHOWN = 5


def _choice(towns: Sequence[Town]) -> str:
    """Some towns to choose from; with their position where the names do not tell them apart."""
    shown = towns[:_SHOWN]
    names = [str(town) for town in shown]
    told = [
        f'"{name}"' if names.count(name) == 1 else f'"{name}" ({town.latitude_deg:.2f}, {town.longitude_deg:.2f})'
        for name, town in zip(names, shown, strict=True)
    ]
    return listed(told + [f"{len(towns) - _SHOWN} more"] * (len(towns) > _SHOWN), "or")


def _town_in_doubt(given: str, towns: tuple[Town, ...]) -> str:
    alike = len(set(map(str, towns))) < len(towns)
    remedy = "write latitude, longitude and timezone of yours" if alike else "write one of them in full"
    return f'town "{given}" may be {_choice(towns)}; {remedy}'


def _no_town(given: str, towns: tuple[Town, ...]) -> str:
    otherwise = "name a larger town nearby, or write latitude, longitude and timezone"
    hint = f"; did you mean {_choice(towns)}? Else {otherwise}" if towns else f"; {otherwise}"
    return f'town "{given}" is not among those of over 15,000 people{hint}'


def _country_unknown(country: str, near: str | None) -> str:
    remedy = f'did you mean "{near}"?' if near else 'write a two-letter code such as "US", or leave it blank'
    return f'country "{country}" is not one whose public holidays are known; {remedy}'


def _region_unknown(region: str, country: str, known: tuple[str, ...], near: str | None) -> str:
    remedy = f"write one of {', '.join(known)}, or leave it blank" if known else "leave it blank"
    return f'region "{region}" is not one of those of {country}; ' + (f'did you mean "{near}"?' if near else remedy)


def _mother_twice(number: str, place: str) -> str:
    where = f'"{clipped(place)}"' if place.strip() else "no place"
    return f"two mother plants of {number} stand at {where}; give each its own place"


_ID = "put back the one from your backup, or take that of a new nursery: stickdate new OTHER"


SENTENCES: Final[dict[str, Sentence]] = {
    "not_a_time": '{given!v} is not a time of day; write for example "18:30"',
    "not_a_chance": '{given!v} is not a chance; write one over 0% and under 100%, such as "50%"',
    "not_a_month_day": '{given!v} is not a day of the year; write month-day, such as "04-17"',
    "not_an_id": "{given!v} is not an id; " + _ID,
    "id_missing": "id is missing; " + _ID,
    "no_zone": "{given!v} is not a time zone{near:; write for example America/New_York}",
    "brighter_than_clear": (
        "radiation of month {month} is {mean_mj:.1f} MJ, where a clear sky gives {clear_mj:.1f}; "
        "check its unit, and that January stands first"
    ),
    "share_in_the_dark": 'share is for where = "window" or "greenhouse"; add where, or take share away',
    "no_share_of_light": (
        "where = {where!q} needs the share of outdoor light that reaches the leaves; add share = 0.3, "
        "or what your meter says"
    ),
    "days_backwards": "from {first} to {last} runs backwards; exchange the two",
    "shelter_twice": "the name '{shelter}' is given twice; each shelter needs its own, no bin's",
    "place_twice": "the name '{place}' is given twice; each place needs its own, no bin's",
    "bed_with_warmth": "a bed lies outdoors and has the warmth of the site; take {key} away",
    "place_without_air": 'a {kind} needs the warmth of its air; write for example air = "60 F"',
    "bin_twice": "the name '{bin}' is given twice; each bin needs its own",
    "no_cold_store": '{given!v} is no cold store for dormant wood; write how cold it is, from "27 F" to "53 F"',
    "mother_twice": _mother_twice,
    "mother_of_none": "'{number!c}' is not in varieties.csv{near:; write the number of its variety, or add that}",
    "holidays_unknown": "week.holidays_off = true, but {why}",
    "no_country": 'no country says which holidays; add country = "US" to [site]',
    "region_without_country": 'region {region!q} needs a country; write for example country = "US"',
    "country_unknown": _country_unknown,
    "region_unknown": _region_unknown,
    "no_supply": "'{supply!c}' is not a supply{near:; all of them: stickdate rules}",
    "drifted": (
        "{kind} '{bin}', {what} = {now!q} changes nothing since the logbook has {logged} ({day}); "
        "log the change: stickdate log {what} {bin} --value {now!q}"
    ),
    "bench_days_apart": (
        "bench days lie up to {apart} days apart, and bags just stuck wait no longer than {gap} days for a look: some "
        "rounds fall on other days; with {would!a} as well none would"
    ),
    "mat_too_warm": (
        "{kind} '{bin}': at {mat!q} nothing that you grow roots, from {stop!q} on; measure, or set it lower"
    ),
    "held_out": held_out,
    "too_mild": lambda found, units: too_little_cold(found, units),
    "town_in_doubt": _town_in_doubt,
    "town_elsewhere": lambda given, towns: f'town "{given}" is not known; did you mean {_choice(towns)}?',
    "no_town": _no_town,
}
