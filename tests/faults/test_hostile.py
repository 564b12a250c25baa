"""Whatever comes in by a file, a form, an earlier feed or the command line: lines for the grower, never a defect.

STICKDATE_HOSTILE says how many inputs are tried in all (600 if not said); each follows from its number alone, so that a
failure can be repeated.
"""

from __future__ import annotations

import os
import random
import shutil
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import lru_cache, partial
from pathlib import Path

import pytest
from icalendar import Calendar
from werkzeug.datastructures import MultiDict

from almanac.actions.look import look
from almanac.faults import Fault, Refusal
from almanac.feed.entries import entries_of
from almanac.feed.previous import Previous, read_previous
from almanac.feed.publish import publication
from almanac.feed.whole import is_whole
from almanac.nursery.copies import copy_text, difference, put_back, with_rows
from almanac.nursery.events import EVENTS
from almanac.nursery.logbook import TABLE as LOG
from almanac.nursery.logbook import read_rows
from almanac.nursery.order_rows import TABLE as SALES
from almanac.nursery.order_rows import read_orders
from almanac.nursery.settings import Settings
from almanac.nursery.varieties import read_varieties
from almanac.rulebook.checked import checked, faults_of
from almanac.rulebook.toml_text import read_toml
from almanac.web.form import asked
from almanac.words.faults import fault_lines, page_text
from tests.faults.bench import LOGBOOK, NURSERY, ORDERS, TODAY, VARIETIES, make_nursery, run
from tests.faults.test_fuzz import DOCUMENTS, ODD_CELLS, WHOLE_FILE, cells_damaged, values_damaged
from tests.faults.test_routes import FIELDS, VALUES

HOW_MANY = int(os.environ.get("STICKDATE_HOSTILE", "600"))
NOW = datetime.fromisoformat(f"{TODAY}T12:00:00+00:00")
KNOWN = {"a_table": (4901, 12140)}  # numbers that found something once: an order's endless variety in a fault line
CROPS = ("fig", "grape")
ODD_LINES = (
    b"DTSTART;VALUE=DATE:00010101", b"DTEND;VALUE=DATE:99991231", b"DTSTART:99991231T235959Z",
    b"DTSTART:00010101T000000Z", b"SEQUENCE:99999999999999999999", b"SEQUENCE:-1", b"LAST-MODIFIED:99991231T235959Z",
    b"LAST-MODIFIED:x", b"UID:", b"SUMMARY:" + b"\xff" * 30, b"BEGIN:VEVENT", b"END:VEVENT", b"END:VCALENDAR",
    b"X-STICKDATE-ID:round.0001-01-01", b"X-STICKDATE-ID:7a.", b"X-STICKDATE-HOLDS:" + b"7a.look " * 400,
    b"X-STICKDATE-AS-OF:9999-12-31", b"DESCRIPTION:a\x00b", b"X-STICKDATE-PAGE:javascript:alert(1)",
    b"TRIGGER:-P99999999999999D", b" folded", b"DTSTAMP:20260101T000000",
)  # fmt: skip
ODD_MOMENTS = [
    datetime(year, month, day, 3, tzinfo=UTC) for year, month, day in ((1, 1, 1), (9999, 12, 31), (2026, 3, 8))
]
WORDS = (
    "today", "lots", "why", "log", "undo", "order", "check", "forsale", "strike", "buy", "space", "season", "stick-by",
    "looked", "potted", "died", "noted", "mat", "7b", "1a", "r3", "A", "fig", "--count", "--on", "--value", "--note",
    "--days", "--variety", "--plants", "--bin", "--stage", "--form", "--json", "--as-of", "--force", "--chance", "-1",
    "2026-03-01", "2027-08-01", "yesterday", "-3d", *ODD_CELLS,
)  # fmt: skip


_read = lru_cache(maxsize=1)(partial(look, now=NOW))


def told(faults: Sequence[Fault]) -> None:
    """Every fault has its line."""
    one_line(fault_lines(faults))


def one_line(lines: Iterable[str]) -> None:
    for line in lines:
        assert line.isprintable()
        assert len(line) < 700


def a_table(chance: random.Random, _folder: Path) -> None:
    data = chance.choice((LOGBOOK, ORDERS, VARIETIES)).encode()
    for _ in range(chance.choice((1, 1, 2, 3))):
        try:
            data = chance.choice((*WHOLE_FILE, cells_damaged))(data, chance)
        except (IndexError, ValueError):  # nothing is left to damage
            break
    text = data.decode("utf-8-sig", "replace")
    told(read_rows(text)[1])
    told(read_varieties(text, CROPS)[1])
    told(read_orders(text, ("1", "7"))[1])
    for table, whole in ((LOG, LOGBOOK), (SALES, ORDERS)):
        for one, other in ((text, whole), (whole, text)):
            found = difference(table, one, other)
            back = put_back(found)
            with_rows(table, one, found.here, back)
            copy_text(found, one, [])


def settings(chance: random.Random, _folder: Path) -> None:
    data = chance.choice((*WHOLE_FILE, values_damaged, values_damaged))(NURSERY.encode(), chance)
    text, document, faults = read_toml(data, "nursery.toml")
    if document is not None:
        found, slips = checked(Settings, document)
        faults = faults_of(slips, "nursery.toml", text, document)
        if found is not None:
            found.place()
    told(faults)


def a_form(chance: random.Random, _folder: Path) -> None:
    odd = (*VALUES, *ODD_CELLS, *EVENTS)
    fields = MultiDict([(chance.choice(FIELDS), chance.choice(odd)) for _ in range(chance.randint(1, 12))])
    if chance.random() < 0.8:
        fields["key"] = "pabcdefghjk2"
    try:
        asked(fields)
    except Refusal as why:
        one_line([page_text(why.fact)])


def a_feed(chance: random.Random, folder: Path) -> None:
    """An earlier feed is damaged: what is made from it is whole all the same."""
    reading = _read(folder)
    nursery, identity = reading.nursery, reading.nursery.settings.nursery.id
    entries = entries_of(reading.plan, nursery)
    data = (folder / "calendar" / "everything.ics").read_bytes()
    if chance.random() < 0.2:  # entries as they should be but for their moment
        moment = chance.choice(ODD_MOMENTS)
        moved = [replace(entry, start=moment, end=moment, day=moment.date()) for entry in chance.sample(entries, 3)]
        data = publication(moved, Previous(), "Lane", identity, NOW, NOW.date()).feeds["everything"]
    for _ in range(chance.randint(0, 4)):
        lines = data.split(b"\r\n")
        at, odd = chance.randrange(len(lines)), chance.choice(ODD_LINES)
        way = chance.random()
        if way < 0.5:
            names = [number for number, line in enumerate(lines) if line.startswith(odd.partition(b":")[0][:7])]
            lines[chance.choice(names or [at])] = odd
        elif way < 0.7:
            lines.insert(at, odd)
        data = b"\r\n".join(lines) if way < 0.7 else chance.choice(WHOLE_FILE[:5])(data, chance)
        if not data:
            break
    day = nursery.as_of + timedelta(days=chance.choice((0, 0, 1, 30, -30)))
    previous = read_previous(data, nursery.place.zone, identity)
    previous.past(day)
    name = chance.choice(("Lane", *ODD_CELLS))
    made = publication(entries, previous, name, identity, NOW, day)
    for feed in made.feeds.values():
        assert is_whole(feed)
    if chance.random() < 0.02:
        Calendar.from_ical(made.feeds["everything"])


def a_rule(chance: random.Random, folder: Path) -> None:
    file = chance.choice([name for name in DOCUMENTS if name != "nursery.toml"])
    data = chance.choice((*WHOLE_FILE, values_damaged, values_damaged))(DOCUMENTS[file].encode(), chance)
    (folder / file).parent.mkdir(parents=True, exist_ok=True)
    (folder / file).write_bytes(data)
    ran = run("--nursery", folder, "rules", "check")
    shutil.rmtree(folder / "rules")
    assert ran.status in (0, 1)


def a_command(chance: random.Random, folder: Path) -> None:
    words = [chance.choice(WORDS[:13]), *(chance.choice(WORDS) for _ in range(chance.randint(0, 6)))]
    ran = run("--nursery", folder, *words)
    assert ran.status in (0, 1, 2)
    assert ran.status == 0 or ran.stderr
    if ran.status == 0 and chance.random() < 0.1:
        assert run("--nursery", folder, "check").status == 0


@pytest.mark.parametrize(
    ("hostile", "share"),
    [(a_table, 0.4), (settings, 0.2), (a_form, 0.3), (a_feed, 0.05), (a_rule, 0.015), (a_command, 0.035)],
)
def test_whatever_comes_in_is_no_defect(
    hostile: Callable[[random.Random, Path], None], share: float, tmp_path: Path
) -> None:
    folder = make_nursery(tmp_path / "lane")
    (folder / "orders.csv").write_text(ORDERS, encoding="utf-8")
    assert run("--nursery", folder, "calendar").status == 0
    for number in (*KNOWN.get(hostile.__name__, ()), *range(round(HOW_MANY * share))):
        try:
            hostile(random.Random(f"{hostile.__name__} {number}"), folder)
        except BaseException as error:
            error.add_note(f"{hostile.__name__} {number}")
            raise
