"""Numbers that the guide tells are those of the rules and of the tables that ship: who changes one finds both."""

from __future__ import annotations

import gzip
import tomllib
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).parents[2]
DATA = HERE / "almanac" / "site" / "data"
WORDS = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 8: "eight", 10: "ten", 50: "fifty"}


def rule(file: str) -> dict[str, Any]:
    """A shipped rule file as it is written."""
    return tomllib.loads((HERE / "rules" / f"{file}.toml").read_text(encoding="utf-8"))


def task(file: str, name: str) -> dict[str, Any]:
    found: dict[str, Any] = next(each for each in rule(file)["task"] if each["id"] == name)
    return found


def told() -> list[tuple[str, str]]:
    """A chapter, and words of it made from the number they tell."""
    first, later = (task("methods/sealed_bag", name) for name in ("bag_look_first", "bag_look"))
    fig, far = rule("crops/fig")["store"], tomllib.loads((DATA / "stations.toml").read_text(encoding="utf-8"))
    rows = gzip.decompress((DATA / "stations.tsv.gz").read_bytes()).splitlines()
    numbers = {name: rule(f"care/{name}")["programme"] for name in ("fungus_gnats", "frost_watch", "store", "watering")}
    hardening = rule("care/hardening")
    set_out = next(each["ahead_days"] for each in hardening["milestone"] if "ahead_days" in each)
    waits = f"up to {first['longest_days']} days for a bench day in their first fortnight"
    return [
        ("rounds", f"every {first['every_days']} or {later['every_days']} days"),
        ("rounds", f"{waits} and up to {later['longest_days']} later"),
        ("winter", f"fig {fig['keeps_low'].split()[0]} to {fig['keeps_high'].split()[0]} weeks"),
        ("winter", f"one in {WORDS[round(1 / numbers['store']['spare'])]} more is cut"),
        ("gnats", f"from {WORDS[numbers['fungus_gnats']['act_at']['adults']]} on"),
        ("frost", f"one year of {WORDS[round(1 / numbers['frost_watch']['rarely'])]}"),
        ("frost", f"nearest of {sum(row[:1] != b'#' for row in rows):,} stations"),
        ("frost", f"{far['farthest_km'] / 1.609344:.0f} miles or {round(far['farthest_m'] / 0.3048, -2):.0f} ft"),
        ("weaning", f"the first day for {WORDS[int(hardening['programme']['hours']['first_day'].split()[0])]} hours"),
        ("weaning", f"about {WORDS[set_out // 7]} weeks before they can live out"),
        ("weaning", f"{ {3: 'third', 4: 'fourth'}[numbers['watering']['least']] } weighing"),
    ]


@pytest.mark.parametrize(("chapter", "words"), told(), ids=lambda value: value)
def test_a_number_in_the_guide_is_that_of_the_rules(chapter: str, words: str) -> None:
    text = (HERE / "almanac" / "guide" / f"{chapter}.md").read_text(encoding="utf-8")

    assert words in " ".join(text.split())
