"""The examples' feeds as independent readers of RFC 5545 see them: icalendar, vobject and ical.js at their strictest.

ical.js is had by `npm install --prefix tests/outside`; where it or node is missing, its check is skipped, but under
STICKDATE_CI=1 it fails.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import icalendar
import pytest
import vobject

from almanac.actions.refresh import refresh
from almanac.faults import Fact, Fault, Nearest
from almanac.feed.trouble import with_trouble

HERE = Path(__file__).parent
EXAMPLES = sorted(path.parent.name for path in (HERE.parents[1] / "examples").glob("*/nursery.toml"))
FEEDS = ("everything", "bench", "seasons", "sales", "trouble")  # the last with an entry of what to mend
FAULTS = [
    Fault(file="logbook.csv", fact=Fact("no_event", what="le;fs,\n" + "x" * 90, near=Nearest("leaves")), line=41),
    Fault(file="varieties.csv", fact=Fact("no_rule_file", crop="é \x07", near=Nearest()), line=2),
]
Seen = tuple[str, str, str, str]  # uid, start, end, summary


@pytest.fixture(scope="module", params=EXAMPLES)
def feeds(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with an example's feeds, written for the day after its last row."""
    folder: Path = tmp_path_factory.mktemp("readers") / request.param
    shutil.copytree(HERE.parents[1] / "examples" / request.param, folder, ignore=shutil.ignore_patterns("calendar"))
    rows = (folder / "logbook.csv").read_text("utf-8").splitlines()[1:]
    last = date.fromisoformat(max(row.split(",")[1] for row in rows))
    refresh(folder, datetime(2027, 6, 1, 12, tzinfo=UTC), last, changes=folder / "calendar" / "changes.ics")
    good = (folder / "calendar" / "everything.ics").read_bytes()
    broken = with_trouble(good, FAULTS, last, datetime(2027, 6, 1, 12, tzinfo=UTC))
    (folder / "calendar" / "trouble.ics").write_bytes(broken)
    return folder / "calendar"


def _shown(moment: Any) -> str:
    if isinstance(moment, datetime):
        assert moment.utcoffset() is not None, "a time without a zone floats (RFC 5545, 3.3.5)"
        return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    return str(moment)


def by_icalendar(path: Path) -> list[Seen]:
    calendar = icalendar.Calendar.from_ical(path.read_bytes())
    found = []
    for event in calendar.walk("VEVENT"):
        assert event.errors == []
        seen: Any = event
        found.append((str(seen["UID"]), _shown(seen["DTSTART"].dt), _shown(seen["DTEND"].dt), str(seen["SUMMARY"])))
    return found


def by_vobject(path: Path) -> list[Seen]:
    calendar = vobject.readOne(path.read_bytes().decode("utf-8"))
    assert calendar.validate(raiseException=True)
    return [
        (event.uid.value, _shown(event.dtstart.value), _shown(event.dtend.value), event.summary.value)
        for event in calendar.vevent_list
    ]


def by_ical_js(path: Path) -> list[Seen]:
    node = shutil.which("node")
    if node is None or not (HERE / "node_modules" / "ical.js").is_dir():
        reason = "node or ical.js is missing; install them with: npm install --prefix tests/outside"
        if os.environ.get("STICKDATE_CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    done = subprocess.run([node, HERE / "read_ical.mjs", path], capture_output=True, text=True, check=False, cwd=HERE)
    assert done.returncode == 0, done.stderr
    return [(uid, start, end, summary) for uid, start, end, summary in json.loads(done.stdout)]


@pytest.mark.parametrize("name", [*FEEDS, "changes"])
def test_three_readers_see_the_same_entries_and_complain_of_none(name: str, feeds: Path) -> None:
    path = feeds / f"{name}.ics"

    first, second = by_icalendar(path), by_vobject(path)

    assert first
    assert len({uid for uid, *_ in first}) == len(first)  # RFC 5545, 3.8.4.7
    assert second == first
    assert by_ical_js(path) == first


@pytest.mark.parametrize("name", FEEDS)
def test_a_feed_keeps_the_rules_no_reader_enforces(name: str, feeds: Path) -> None:
    data = (feeds / f"{name}.ics").read_bytes()

    # RFC 5545, 3.1: lines end in CR LF, fold at 75 octets, and text is UTF-8, here never cut inside a character.
    assert data.endswith(b"END:VCALENDAR\r\n")
    assert data.count(b"\n") == data.count(b"\r\n") == data.count(b"\r")
    for line in data.split(b"\r\n"):
        assert len(line) <= 75
        line.decode("utf-8")
    text = re.sub("\r\n[ \t]", "", data.decode("utf-8"))
    # 3.3.11: no control characters but tab; nothing is escaped but \ ; , and the line break.
    assert not re.search(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", text)
    for value in re.findall(r"^(?:SUMMARY|DESCRIPTION|CATEGORIES|NAME):(.*)\r", text, re.MULTILINE):
        assert not re.search(r"[;,]", re.sub(r"\\[\\;,nN]", "", value)), value
        assert not re.search(r"\\", re.sub(r"\\[\\;,nN]", "", value)), value
    # 3.6.1, 3.8.7.2: DTSTAMP is UTC and, without METHOD, the moment of the last change.
    assert "\r\nMETHOD" not in text
    for event in text.split("BEGIN:VEVENT")[1:]:
        [stamp] = re.findall(r"^DTSTAMP:(\d{8}T\d{6}Z)\r", event, re.MULTILINE)
        assert f"\r\nLAST-MODIFIED:{stamp}\r\n" in event
        assert "\r\nTRANSP:TRANSPARENT\r\n" in event
        assert re.search(r"^DTSTART(;VALUE=DATE:\d{8}|:\d{8}T\d{6}Z)\r", event, re.MULTILINE)


def test_an_all_day_entry_ends_after_it_starts(feeds: Path) -> None:
    # RFC 5545, 3.8.2.2: DTEND is later than DTSTART; 3.6.1: it is exclusive.
    for _, start, end, _ in by_icalendar(feeds / "everything.ics"):
        assert start < end
