"""A nursery's folder for a test, written as its grower would write it: the one place where tests make nurseries.

What a test does not name is as below. A line of the log is a date and then the words of `stickdate log`:
`2027-01-05 received 7a --count 12 --stage rooting --bin A`. All names and numbers of lots are invented.
"""

from __future__ import annotations

import csv
import io
import shlex
from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import TypedDict, Unpack

from almanac.nursery.events import EVENTS
from almanac.nursery.load import load_nursery
from almanac.nursery.logbook import COLUMNS, LOT_ID
from almanac.nursery.nursery import Nursery
from almanac.nursery.order_rows import COLUMNS as ORDER_COLUMNS

NURSERY_ID = "0f5c2a52-9d0e-4f57-8f6b-6d9b3a4f1c11"
WEEK = 'bench_days = ["tue", "fri", "sun"]'
VARIETIES = """number,name,crop,source,protected
7,Copper Kettle,fig,,
8,Blue Ladder,fig,,
9,Tin Whistle,fig,,yes
"""


def frost_dates(last_spring: str, first_autumn: str) -> str:
    """A frost table of dates such as "04-04 04-17 04-30": 90, 50 and 10 % in spring, 10, 50 and 90 % in autumn."""
    spring, autumn = (
        ", ".join(f'"{share}%" = "{day}"' for share, day in zip(shares, days.split(), strict=True))
        for shares, days in (((90, 50, 10), last_spring), ((10, 50, 90), first_autumn))
    )
    return f"[frost.dates]\nlast_spring = {{ {spring} }}\nfirst_autumn = {{ {autumn} }}"


FROST = frost_dates("04-04 04-17 04-30", "10-05 10-18 11-02")
SOUTHERN_FROST = frost_dates("10-04 10-17 10-30", "04-05 04-18 05-02")
NO_FROST = "[frost.dates]\nnever = true"
FROST_ALL_SUMMER = """[frost.dates]
last_spring = { "90%" = "07-20", "50%" = "07-28" }
first_autumn = { "50%" = "08-03", "90%" = "08-12" }"""


class Parts(TypedDict, total=False):
    """What a test may say of a nursery; warmth and light are those of all bins, or of each by its name."""

    name: str
    units: str
    latitude: float
    longitude: float
    elevation: str
    timezone: str
    country: str
    site: str  # more lines under [site]
    frost: str  # the whole table
    bins: Iterable[str]
    bags: int
    mat: str | Mapping[str, str]
    air: str | Mapping[str, str]
    light: str | Mapping[str, str]
    store: str
    week: str  # the lines under [week], and so on
    sale: str
    space: str
    hardening: str
    weaning: str
    gnats: str
    supplies: str
    shelters: Iterable[str]  # the lines of each [[shelter]]
    calendar: str
    mothers: Iterable[str]  # the lines of each [[mother]]
    varieties: str
    orders: Iterable[str]  # lines of orders.csv


DEFAULTS = Parts(
    name="Quince Lane (invented)",
    units="metric",
    latitude=37.3,
    longitude=-79.9,
    elevation="0 m",
    timezone="America/New_York",
    country="US",
    site="",
    frost=FROST,
    bins="A",
    bags=24,
    mat="25 C",
    air="20 C",
    light="",
    week=WEEK,
    varieties=VARIETIES,
)


def write_nursery(folder: Path, log: str = "", **parts: Unpack[Parts]) -> Path:
    """Write the files of a nursery into a folder, which it gives back."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "nursery.toml").write_text(settings(**parts), encoding="utf-8")
    (folder / "varieties.csv").write_text(parts.get("varieties", VARIETIES), encoding="utf-8")
    (folder / "logbook.csv").write_text(logbook(log), encoding="utf-8")
    if "orders" in parts:
        lines = [",".join(ORDER_COLUMNS), *parts["orders"], ""]
        (folder / "orders.csv").write_text("\n".join(lines), encoding="utf-8")
    return folder


def bench(folder: Path, log: str, today: date, *, as_of: date | None = None, **parts: Unpack[Parts]) -> Nursery:
    """A nursery read from files as its grower would write them, on a day."""
    return load_nursery(write_nursery(folder, log, **parts), datetime.combine(today, time(17), UTC), as_of)


def settings(**parts: Unpack[Parts]) -> str:
    """The text of `nursery.toml`."""
    said = DEFAULTS | parts
    lines = ["[nursery]", f'id = "{NURSERY_ID}"', *(f'{key} = "{said[key]}"' for key in ("name", "units"))]
    lines += ["[site]", f"latitude = {said['latitude']}", f"longitude = {said['longitude']}"]
    lines += [f'{key} = "{said[key]}"' for key in ("elevation", "timezone", "country")]
    lines += [said["site"], said["frost"]]
    for name in said["bins"]:
        mat, air, light = (of if isinstance(of, str) else of[name] for of in (said["mat"], said["air"], said["light"]))
        lines += ["[[bin]]", f'name = "{name}"', f"bags = {said['bags']}", f'mat = "{mat}"', f'air = "{air}"']
        lines += [f"light = {light}"] if light else []
    for mother in said.get("mothers", ()):
        lines += ["[[mother]]", mother]
    for shelter in said.get("shelters", ()):
        lines += ["[[shelter]]", shelter]
    for table in ("store", "week", "sale", "space", "hardening", "weaning", "gnats", "supplies", "calendar"):
        lines += [f"[{table}]", said[table]] if table in said else []
    return "\n".join(filter(None, lines)) + "\n"


def logbook(log: str) -> str:
    """The text of `logbook.csv` for lines as they were logged."""
    buffer = io.StringIO()
    writer = csv.DictWriter(buffer, COLUMNS, lineterminator="\n")
    writer.writeheader()
    for number, line in enumerate(filter(str.strip, log.splitlines()), 1):
        day, what, *rest = shlex.split(line)
        cells = {"id": f"r{number}", "date": day, "what": what}
        while rest:
            word = rest.pop(0)
            if word.startswith("--"):
                cells[word.removeprefix("--")] = rest.pop(0)
            elif LOT_ID.fullmatch(word):
                cells["lot"] = word
            else:
                cells["value" if EVENTS[what].target == "crop" else "variety"] = word
        writer.writerow(cells)
    return buffer.getvalue()
