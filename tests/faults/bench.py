"""A small invented nursery to break, and the command run on it in this process, on a day that stands still."""

from __future__ import annotations

from pathlib import Path

from tests import command
from tests.command import Ran
from tests.nurseries import Parts, settings, write_nursery

TODAY = "2026-03-20"

PARTS = Parts(
    name="Invented Lane",
    units="us",
    site='region = "VA"',
    bins="AB",
    mat="78 F",
    air="66 F",
    light={"A": "", "B": "{ ppfd = 120, hours = 16 }"},
)
NURSERY = settings(**PARTS)
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
    write_nursery(folder, **(PARTS | Parts(varieties=VARIETIES)))
    for name in ("logbook.csv", "logbook.backup.csv"):
        (folder / name).write_text(LOGBOOK, encoding="utf-8")
    return folder


def run(*words: object) -> Ran:
    """Run `stickdate` on the day that stands still."""
    return command.run(*words, noon_of=TODAY)


def kept(folder: Path) -> dict[str, bytes]:
    """The bytes of everything in a nursery but its lock."""
    files = (path for path in sorted(folder.rglob("*")) if path.is_file() and path.name != ".stickdate.lock")
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}
