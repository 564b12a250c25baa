"""Feeds of the examples as phones have them, kept so that no later version doubles or loses an entry there.

Run `python -m tests.journeys.keep_feeds` before work that moves dates: it writes the feeds anew, over those kept, as a
nursery that goes on does. What is over in them stays as it is, so does what each entry is called.
"""

from __future__ import annotations

import gzip
import shutil
import tempfile
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

from almanac.actions.refresh import refresh
from tests.examples import EXAMPLES

KEPT = Path(__file__).parent / "kept"
# The day each feed was last written on; the first time it was on two earlier days as well, so that much of it is over.
DAYS = {
    "harbour-wall": date(2026, 2, 28),
    "millrace": date(2026, 2, 19),
    "osier-row": date(2026, 2, 10),
    "quince-lane": date(2026, 2, 24),
    "two-sheds": date(2026, 8, 9),
}
EARLIER = (timedelta(days=45), timedelta(days=16), timedelta(0))


def kept(name: str) -> bytes:
    """The feed of an example as it was kept; empty where none is."""
    file = KEPT / f"{name}.ics.gz"
    return gzip.decompress(file.read_bytes()) if file.is_file() else b""


def run_over(feed: bytes, name: str, folder: Path, day: date) -> bytes:
    """The feed that this version makes of an earlier one, on a day."""
    nursery = folder / name
    if not nursery.is_dir():
        shutil.copytree(EXAMPLES / name, nursery, ignore=shutil.ignore_patterns("calendar"))
    head, *rows = (EXAMPLES / name / "logbook.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    logged = [row for row in rows if row.split(",")[1] <= str(day)]
    (nursery / "logbook.csv").write_text("".join((head, *logged)), encoding="utf-8")
    file = nursery / "calendar" / "everything.ics"
    file.parent.mkdir(exist_ok=True)
    if feed:
        file.write_bytes(feed)
    refresh(nursery, datetime.combine(day, time(20), UTC), day)
    return file.read_bytes()


def main() -> None:
    KEPT.mkdir(exist_ok=True)
    for name, day in DAYS.items():
        feed = kept(name)
        with tempfile.TemporaryDirectory() as folder:
            for before in EARLIER[-1:] if feed else EARLIER:
                feed = run_over(feed, name, Path(folder), day - before)
        (KEPT / f"{name}.ics.gz").write_bytes(gzip.compress(feed, mtime=0))


if __name__ == "__main__":
    main()
