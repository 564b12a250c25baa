"""Public holidays: takes country, region and dates, gives their names; for a wrong code, what was meant.

What the library says is kept from run to run (`kept`): to import it takes longer than most plans.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from functools import cache, lru_cache, partial
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from typing import TYPE_CHECKING

from almanac.faults import Fact
from almanac.kept import kept

if TYPE_CHECKING:
    from holidays import HolidayBase

_KEPT = 64  # years of places whose holidays are remembered
_MAIL_RUNS_IN_REGIONS = ("US",)


def public_holidays(country: str, region: str, first: date, last: date) -> dict[date, str]:
    """Public holidays from `first` to `last`, both included, by date, named in English where possible.

    A blank or unknown country has none; an unknown region has those of the whole country.

    Source:
        The `holidays` library, days off in lieu included.
    """
    code = country_code(country)
    if code is None:
        return {}
    found = _of_years(code, _region_code(code, region), first.year, last.year)
    return {day: name for day, name in found if first <= day <= last}


@lru_cache(maxsize=_KEPT)
def _of_years(code: str, region: str | None, first: int, last: int) -> tuple[tuple[date, str], ...]:
    """The holidays of some years by date: plans ask for the same ones again and again."""

    def told() -> dict[str, str]:
        calendar = _calendar_of(code)
        # Left to itself the library names them in the language of whoever runs the program.
        own = calendar().default_language or ""
        found = calendar(subdiv=region, years=range(first, last + 1), language=own if own.startswith("en") else "en_US")
        return {day.isoformat(): found[day] for day in sorted(found)}

    found = _once(f"{first} to {last} of {code}, {region}", told)
    return tuple((date.fromisoformat(day), name) for day, name in found.items())


def _once(what: str, told: Callable[[], dict[str, str]]) -> dict[str, str]:
    """What the library tells: as it was kept, else asked and kept."""
    place = kept(f"holidays: {what}", (), sources=("site/holidays.py",), library="holidays")
    found: dict[str, str] | None = place.found(json.loads)
    if found is None:
        found = told()
        place.keep(found, lambda it: json.dumps(it).encode())
    return found


@cache
def _calendar_of(code: str) -> Callable[..., HolidayBase]:
    """The library's calendar of a country, read from the file of that country alone.

    Asked in its own way the library reads the files of all countries, which takes longer than most plans.
    """
    import holidays
    from holidays.registry import COUNTRIES

    file = next(file for file, (_, *codes) in COUNTRIES.items() if code in codes)
    path = Path(holidays.__file__).with_name("countries") / f"{file}.py"
    spec = spec_from_file_location(f"holidays.countries.{file}", path)
    if spec is None or spec.loader is None or not path.is_file():
        return partial(holidays.country_holidays, code)  # a library that keeps them elsewhere
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    found: Callable[..., HolidayBase] = getattr(module, code)
    return found


def mail_holidays(country: str, region: str, first: date, last: date) -> dict[date, str]:
    """The public holidays on which no mail goes: of the whole country where it runs on those of a region alone.

    Source:
        The postal service of the United States keeps the federal holidays (5 U.S.C. 6103(a)) and runs on those of
        single states. Of no other country is that known here: there a holiday of the region counts.
    """
    return public_holidays(country, "" if country_code(country) in _MAIL_RUNS_IN_REGIONS else region, first, last)


def known_country(country: str, region: str = "") -> Fact | None:
    """What is wrong with a country or its region; None where both are known, or blank.

    Either may be a code ("US", "USA", "VA") or a name in the words of the `holidays` library ("Virginia").
    """
    if not country.strip():
        return Fact("region_without_country", region=region) if region.strip() else None
    code = country_code(country)
    if code is None:
        return Fact("country_unknown", country=country, near=_near(country, _countries()))
    if region.strip() and _region_code(code, region) is None:
        regions = _regions(code)
        known, near = tuple(sorted(set(regions.values()))), _near(region, regions)
        return Fact("region_unknown", region=region, country=code, known=known, near=near)
    return None


def region_code(country: str, region: str) -> str:
    """The code of a region by any way to write it, such as "VA" for "Virginia"; blank where it is not known."""
    code = country_code(country)
    return _region_code(code, region) or "" if code else ""


def surely_same(one: tuple[str, str], other: tuple[str, str]) -> bool:
    """Whether two (country, region) are the same, however written; what is blank or not known may be elsewhere."""
    code = country_code(one[0])
    if code is None or code != country_code(other[0]):
        return False
    if not _regions(code):
        return True  # a country that is not known by its parts
    first, second = (_region_code(code, region) for _, region in (one, other))
    return first is not None and first == second


def country_code(text: str) -> str | None:
    """The two-letter code of a country by any way to write it, such as "US" for "USA"; None where it is not known."""
    return _countries().get(_folded(text))


def _region_code(code: str, text: str) -> str | None:
    return _regions(code).get(_folded(text))


@cache
def _countries() -> dict[str, str]:
    """Two-letter codes by all ways to write a country, folded."""

    def told() -> dict[str, str]:
        from holidays.registry import COUNTRIES

        return {_folded(way): codes[0] for name, (_, *codes) in COUNTRIES.items() for way in (name, *codes)}

    return _once("countries", told)


@cache
def _regions(code: str) -> dict[str, str]:
    """Codes by all ways to write a region of a country, folded."""

    def told() -> dict[str, str]:
        country = _calendar_of(code)()
        return {_folded(region): region for region in country.subdivisions} | {
            _folded(name): region for name, region in country.subdivisions_aliases.items()
        }

    return _once(f"regions of {code}", told)


def _folded(text: str) -> str:
    return text.strip().replace("_", " ").casefold()


def _near(text: str, ways: dict[str, str]) -> str | None:
    from difflib import get_close_matches  # for words that were mistaken alone

    near = get_close_matches(_folded(text), ways, n=1)
    return ways[near[0]] if near else None
