"""At every call that changes a file the power goes, or the disk is full: what was logged is there once, feeds whole.

At four fewer of a command's calls than STICKDATE_KILLS says (6 if not said); 100 are all of them.
"""

from __future__ import annotations

import csv
import errno
import os
import random
import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from tests.faults.bench import make_nursery, run
from tests.faults.power import CALLS, at_each_call, child, die, needs_fork
from tests.faults.test_orders_kept import LOT

KILLS = int(os.environ.get("STICKDATE_KILLS", "6")) - 4
FILLING = ("write", "fsync", "replace", "mkdir")  # what a full disk stops
COMMANDS = {
    "a row": ("log", "noted", "7b", "--note", "new"),
    "several rows": ("log", "looked", "--all", "--note", "new"),
    "an undo": ("undo",),
    "an order": ("order", "1", "--form", "rooted", "--count", "3"),
    "a shipment": ("order", "--ship", "1"),
    "a calendar": ("calendar",),
    "a folder published": ("publish", "PUBLISHED"),
    "a mending": ("check", "--mend"),
}


@pytest.fixture(scope="module")
def good(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A nursery with an order, a calendar that is behind the logbook, and rows that it has lost."""
    folder = make_nursery(tmp_path_factory.mktemp("good") / "lane")
    for name in ("logbook.csv", "logbook.backup.csv"):
        with (folder / name).open("a", encoding="utf-8") as stream:
            stream.write(LOT)
    assert run("--nursery", folder, "calendar").status == 0
    assert run("--nursery", folder, "order", "1", "--form", "rooted", "--count", "2").status == 0
    assert run("--nursery", folder, "publish", folder.parent / "elsewhere").status == 0  # makes the keys
    shutil.copytree(folder / "calendar", folder / "before")
    assert run("--nursery", folder, "log", "died", "7b", "--count", "1", "--stage", "rooting").status == 0
    shutil.rmtree(folder / "calendar")
    (folder / "before").rename(folder / "calendar")
    return folder


def nursery(good: Path, folder: Path, what: str) -> tuple[str, ...]:
    """A nursery of its own for a command, and the command's words."""
    shutil.copytree(good, folder)
    if what == "a mending":
        text = (folder / "logbook.csv").read_text(encoding="utf-8").splitlines(keepends=True)
        (folder / "logbook.csv").write_text("".join(text[:-2]), encoding="utf-8")
    return tuple(word.replace("PUBLISHED", str(folder.parent / "published")) for word in COMMANDS[what])


def counted(folder: Path, words: tuple[str, ...], names: tuple[str, ...]) -> int:
    calls: list[str] = []
    with at_each_call(names, lambda name, _: calls.append(name)):
        assert run("--nursery", folder, *words).status == 0
    return len(calls)


def table(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def said(path: Path) -> list[tuple[str, ...]]:
    """What the rows of a table say, but for their ids; a line cut short is none."""
    rows = table(path) if path.exists() else []
    return sorted(tuple(row.values())[1:] for row in rows if None not in row.values())


def assert_whole(folder: Path, before: list[tuple[str, ...]]) -> None:
    """All that was logged is there once, in both files; feeds are whole; no write left anything behind."""
    rows = said(folder / "logbook.csv")
    assert [row for row in before if rows.count(row) != 1] == []
    assert said(folder / "logbook.backup.csv") == rows
    assert said(folder / "orders.backup.csv") == said(folder / "orders.csv")
    ids = [row["id"] for row in table(folder / "logbook.csv")]
    assert len(set(ids)) == len(ids)
    for feed in [*folder.rglob("*.ics"), *(folder.parent / "published").glob("*.ics")]:
        assert feed.read_bytes().startswith(b"BEGIN:VCALENDAR")
        assert feed.read_bytes().endswith(b"END:VCALENDAR\r\n")
    assert [path for path in folder.parent.rglob(".*") if re.search(r"\.[a-z0-9_]{8}$", path.name)] == []


@pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="needs to see which file a handle is of")
def test_a_first_row_is_on_the_disk_with_its_folder_after_its_files(good: Path, tmp_path: Path) -> None:
    words = nursery(good, tmp_path / "lane", "an order")
    for name in ("orders.csv", "orders.backup.csv"):
        (tmp_path / "lane" / name).unlink()
    synced = []

    def then(name: str, given: tuple[Any, ...]) -> None:
        if name == "fsync":
            synced.append(os.readlink(f"/proc/self/fd/{given[0]}"))

    with at_each_call(("fsync",), then):
        assert run("--nursery", tmp_path / "lane", *words).status == 0

    names = [str(Path(path).relative_to(tmp_path)) for path in synced]
    assert names[:3] == ["lane/orders.csv", "lane/orders.backup.csv", "lane"]


@needs_fork
@pytest.mark.long
@pytest.mark.parametrize("what", COMMANDS)
def test_the_power_goes_and_nothing_logged_is_lost_nor_a_feed_torn_nor_anything_left_behind(
    what: str, good: Path, tmp_path: Path
) -> None:
    words = nursery(good, tmp_path / "whole" / "lane", what)
    points = range(1, 1 + counted(tmp_path / "whole" / "lane", words, CALLS))

    for point in random.Random(what).sample(points, min(KILLS, len(points))):
        folder = tmp_path / str(point) / "lane"
        words = nursery(good, folder, what)
        before = said(folder / "logbook.csv")

        child(die, folder, point, *words).join(60)

        again = (
            ("check", "--mend"),
            ("log", "looked", "1a"),
            ("calendar",),
            ("publish", str(folder.parent / "published")),
        )
        assert [run("--nursery", folder, *each).status for each in again] == [0, 0, 0, 0], point
        assert_whole(folder, before)
        assert run("--nursery", folder, "check").stdout.endswith("Nothing is wrong.\n"), point


@pytest.mark.long
@pytest.mark.parametrize("what", COMMANDS)
def test_the_disk_is_full_and_the_exit_status_says_whether_the_row_is_in(what: str, good: Path, tmp_path: Path) -> None:
    words = nursery(good, tmp_path / "whole" / "lane", what)
    points = range(1, 1 + counted(tmp_path / "whole" / "lane", words, FILLING))
    done = said(tmp_path / "whole" / "lane" / "logbook.csv")

    for point in random.Random(what).sample(points, min(KILLS, len(points))):
        folder = tmp_path / str(point) / "lane"
        words = nursery(good, folder, what)
        before = said(folder / "logbook.csv")
        calls = 0

        def full(name: str, given: tuple[Any, ...], point: int = point) -> None:
            nonlocal calls
            calls += 1
            if calls >= point and not (name == "fsync" and calls > point):  # taking back is let through
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

        with at_each_call(FILLING, full):
            ran = run("--nursery", folder, *words)

        assert ran.status in (0, 3), ran
        assert ran.status == 0 or len(ran.lines) == 1, ran
        if what != "a mending":
            assert said(folder / "logbook.csv") == (before if ran.status else done), (point, ran)
        assert [path for path in folder.parent.rglob(".*") if re.search(r"\.[a-z0-9_]{8}$", path.name)] == []
        if ran.status:
            assert run("--nursery", folder, *words).status == 0, point
        if what != "a mending":
            run("--nursery", folder, "check", "--mend")
        run("--nursery", folder, "log", "looked", "1a")
        assert_whole(folder, before)
