"""What several tests share: a nursery's folder written as text, the way a grower would write it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

TOML = """\
[nursery]
id = "5d1f8a52-4c0e-4b57-9f6b-2d9b3a4f1c22"
name = "Teasel Yard (invented)"
units = "metric"

[site]
latitude = {latitude}
longitude = {longitude}
timezone = "{timezone}"
country = "{country}"

[frost]
accept = 0.10
source = "invented"
dates = {frost}

[[bin]]
name = "A"
bags = 60
mat = "25.5 C"
air = "20 C"

[[bin]]
name = "B"
bags = 60
mat = "24 C"
air = "19 C"

[week]
bench_days = ["tue", "fri", "sun"]
{week}

[calendar]
alarm = "{alarm}"
"""
SITE = {
    "latitude": "37.3",
    "longitude": "-79.9",
    "timezone": "America/New_York",
    "country": "US",
    "frost": '{ last_spring = { "90%" = "04-04", "50%" = "04-17", "10%" = "04-30" }, '
    'first_autumn = { "10%" = "10-05", "50%" = "10-18", "90%" = "11-02" } }',
    "week": "",
    "alarm": "none",
}
VARIETIES = """\
number,name,crop,source,protected,price_cutting,price_plant,note
1,Plain one,fig,own,,4,14,
2,Second one,fig,own,,4,14,
3,Guarded one,fig,trade,yes,,,
7,Late one,fig,swap,,5,16,
"""
HEADER = "id,date,what,lot,variety,count,stage,bin,value,refers,note,logged_at"
Writes = Callable[..., Path]


def write_nursery(folder: Path, rows: str = "", varieties: str = VARIETIES, **site: str) -> Path:
    """Write a nursery: `rows` are lines of the logbook without id and logged_at; `site` replaces parts of SITE."""
    folder.mkdir(parents=True, exist_ok=True)
    lines = [line.strip() for line in rows.strip().splitlines()]
    numbered = [f"r{number},{line}," for number, line in enumerate(lines, 1)]
    (folder / "nursery.toml").write_text(TOML.format(**(SITE | site)), encoding="utf-8")
    (folder / "varieties.csv").write_text(varieties, encoding="utf-8")
    (folder / "logbook.csv").write_text("\n".join([HEADER, *numbered]) + "\n", encoding="utf-8")
    return folder


@pytest.fixture
def nursery(tmp_path: Path) -> Writes:
    """Writes a nursery and gives its folder: `nursery(rows, alarm="bench")`."""

    def write(rows: str = "", name: str = "nursery", **more: str) -> Path:
        return write_nursery(tmp_path / name, rows, **more)

    return write
