"""Towns of the earth: takes a town as its grower calls it, gives position and time zone from the table that ships.

Nothing is read before the first question.

A town is never guessed. "Paris" could be taken as the largest; then the grower in Texas would plan a season for the
wrong continent. `new` writes the position it found, so that later runs read no table and a newer one moves no nursery.
"""

from __future__ import annotations

import gzip
import unicodedata
from collections.abc import Collection
from difflib import SequenceMatcher
from functools import cache, lru_cache

from almanac.faults import Fact, Miswritten, may_be_meant
from almanac.plain import dataclass
from almanac.site.shipped import shipped

TOWNS = "towns.tsv.gz"
REGIONS = "regions.tsv"
_NEAREST = 5
# Letters that do not come apart into a plain one and its accent.
_PLAIN = str.maketrans({"ł": "l", "ø": "o", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i", "ħ": "h"})
_APART = str.maketrans({"-": " ", "–": " ", "/": " ", "(": " ", ")": " ", ".": "", "'": "", "’": "", "‘": "", "|": ""})
_SHORT = {"st": "saint", "ste": "sainte", "mt": "mount", "ft": "fort"}


@dataclass(frozen=True, kw_only=True)
class Town:
    """A town of over 15,000 people, or a seat of government.

    Args:
        name, region, country: in words; the region is blank where the gazetteer names none
        country_code: two letters
        region_code: of the region as those have it who keep public holidays, such as "IA"; blank where not known
        people: how many live there
        latitude_deg, longitude_deg: its middle, north and east positive [degrees]
        timezone: name in the time zone database
    """

    name: str
    region: str
    country: str
    country_code: str
    region_code: str
    people: int
    latitude_deg: float
    longitude_deg: float
    timezone: str

    def is_called(self, written: str) -> bool:
        """Whether its own name was written, with or without its region behind commas, and not one near it."""
        return folded(written.split(",")[0]) == folded(self.name)

    def __str__(self) -> str:
        return ", ".join(part for part in (self.name, self.region, self.country) if part)


class UnknownTownError(Miswritten):
    """No town, or more than one, is called so; the fact names the nearest ones."""


@lru_cache(maxsize=64)
def find_town(written: str) -> Town:
    """The one town called so.

    Args:
        written: a name, and after commas its region or country or both, in words or codes: "Ames, Iowa". Case and
            accents do not matter.
    Raises:
        UnknownTownError: none is called so, or more than one; it lists the nearest.
    Source:
        GeoNames (geonames.org), CC BY 4.0.
    """
    name, *wheres = [folded(part) for part in written.split(",")]
    known = _named(name) if name else []
    fitting = [town for town in known if all(_lies_in(town, where) for where in wheres if where)]
    own = [town for town in fitting if folded(town.name) == name]
    # Another town's lesser name counts only where that town is the larger: "Roma" may be Rome.
    meant = [town for town in fitting if town in own or not own or town.people > max(each.people for each in own)]
    if len(meant) == 1:
        return meant[0]
    if meant:
        raise UnknownTownError(Fact("town_in_doubt", given=written, towns=tuple(meant)))
    if known:
        known.sort(key=lambda town: not any(folded(town.region).startswith(where) for where in wheres))
        raise UnknownTownError(Fact("town_elsewhere", given=written, towns=tuple(known)))
    raise UnknownTownError(
        Fact("no_town", given=written, towns=tuple(_nearest(name, [where for where in wheres if where])))
    )


def folded(text: str) -> str:
    """A name as it is compared: small letters without accents, usual abbreviations spelled out."""
    plain = "".join(sign for sign in unicodedata.normalize("NFKD", text.casefold()) if not unicodedata.combining(sign))
    words = plain.translate(_PLAIN).translate(_APART).split()
    return " ".join(_SHORT.get(word, word) for word in words)


def _lies_in(town: Town, where: str) -> bool:
    ways = (town.country_code, *_regions()[town.country_code, ""], town.region, town.region_code)
    return where in {folded(way) for way in ways if way}


@cache
def _table() -> bytes:
    """The table as it ships, a line a town, the largest first; searched as bytes, decoded a line at a time."""
    return gzip.decompress(shipped(TOWNS))


@cache
def _regions() -> dict[tuple[str, str], tuple[str, ...]]:
    """Names of countries and regions by codes; a country has a blank second one."""
    text = shipped(REGIONS).decode()
    rows = [line.split("\t") for line in text.splitlines() if not line.startswith("#")]
    return {(country, region): tuple(names) for country, region, *names in rows}


def _named(name: str) -> list[Town]:
    """Every town with that folded name, the largest first."""
    data, key, found, at = _table(), f"|{name}|".encode(), [], -1
    while (at := data.find(key, at + 1)) >= 0:
        start = data.rfind(b"\n", 0, at) + 1
        found.append(_town(data[start : data.find(b"\n", at)].decode()))
    return found


def _town(line: str) -> Town:
    _, name, country, region, people, latitude, longitude, zone = line.split("\t")
    regions = _regions()
    region_name, region_code = (*(regions[country, region] if region else ("",)), "")[:2]
    country_name = regions[country, ""][0]
    return Town(
        name=name,
        region=region_name,
        country=country_name,
        country_code=country,
        region_code=region_code,
        people=int(people),
        latitude_deg=float(latitude),
        longitude_deg=float(longitude),
        timezone=zone,
    )


def _nearest(name: str, wheres: Collection[str]) -> list[Town]:
    """Towns of nearly that name, the nearest first; in the region or country given alone, where it is known."""
    matcher = SequenceMatcher(autojunk=False)
    matcher.set_seq2(name[:60])
    scored = []
    for line in _table().decode().splitlines():
        key = line[1 : line.find("|", 1)]
        if abs(len(key) - len(name)) > 2 or line.startswith("#"):
            continue
        matcher.set_seq1(key)
        if matcher.real_quick_ratio() >= 0.75 and matcher.quick_ratio() >= 0.75 and (ratio := matcher.ratio()) >= 0.75:
            scored.append((ratio, line))
    scored.sort(key=lambda pair: -pair[0])  # stable: of equals the larger town stays first
    towns = [_town(line) for _, line in scored[:200] if may_be_meant(name[:60], line[1 : line.find("|", 1)])]
    known = {folded(name) for names in _regions().values() for name in names}
    sure = [where for where in wheres if where in known]
    return [town for town in towns if all(_lies_in(town, where) for where in sure)][:_NEAREST]
