"""A small invented nursery to break, and the command run on it in this process, on a day that stands still."""

from __future__ import annotations

from pathlib import Path

from tests import command
from tests.command import Ran

TODAY = "2026-03-20"

NURSERY = """\
[nursery]
id = "5d0c7a54-3f0e-4c1b-9a55-0d5f6c1b2a77"
name = "Invented Lane"
units = "us"

[site]
latitude = 37.27
longitude = -79.94
timezone = "America/New_York"
country = "US"
region = "VA"

[frost]
accept = 0.10
dates = { threshold = "32 F", last_spring = { "50%" = "04-17", "10%" = "04-30" }, first_autumn = { "50%" = "10-18" } }

[[bin]]
name = "A"
bags = 24
mat = "78 F"
air = "66 F"

[[bin]]
name = "B"
mat = "78 F"
air = "66 F"
light = { ppfd = 120, hours = 16 }

[week]
bench_days = ["tue", "fri", "sun"]
"""
VARIETIES = """\
number,name,crop,source,protected,price_cutting,price_plant,note
1,Invented Brown,fig,,,,,
7,Invented Green,fig,,yes,,,"small, early"
"""
HEADER = "id,date,what,lot,variety,count,stage,bin,value,refers,note,logged_at\n"
LOGBOOK = (
    HEADER
    + """\
r1,2025-12-16,taken,7a,7,20,,,,,,2025-12-16T18:00:00.000-05:00
r2,2025-12-16,taken,1a,1,6,,,,,,2025-12-16T18:01:00.000-05:00
r3,2026-01-04,stuck,7a,7,12,,A,,7b,,2026-01-04T18:00:00.000-05:00
r4,2026-01-05,stuck,1a,,,,B,,,,2026-01-05T18:00:00.000-05:00
r5,2026-02-24,roots,7b,,4,,,,,,2026-02-24T18:00:00.000-05:00
r6,2026-03-06,potted,7b,,4,,,,,,2026-03-06T18:00:00.000-05:00
"""
)
ORDERS = """\
order,date,variety,form,count,ship_by,country,region,done,note
1,2026-01-10,1,dormant,2,2026-02-10,US,VA,,
1,2026-01-20,1,dormant,2,,,,2026-01-20,"from 1a, posted"
2,2026-03-01,1,rooted,3,2026-05-20,US,OR,,
3,2026-03-02,7,rooted,1,,,,cancelled,
"""


def make_nursery(folder: Path) -> Path:
    """Write the nursery, rows and their backup, without a calendar."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in (
        ("nursery.toml", NURSERY),
        ("varieties.csv", VARIETIES),
        ("logbook.csv", LOGBOOK),
        ("logbook.backup.csv", LOGBOOK),
    ):
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def run(*words: object) -> Ran:
    """Run `stickdate` on the day that stands still."""
    return command.run(*words, noon_of=TODAY)


def kept(folder: Path) -> dict[str, bytes]:
    """The bytes of everything in a nursery but its lock."""
    files = (path for path in sorted(folder.rglob("*")) if path.is_file() and path.name != ".stickdate.lock")
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}
