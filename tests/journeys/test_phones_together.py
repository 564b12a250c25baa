"""Four phones and the command line log at once, each entry sent more than once: none is lost, none is doubled.

STICKDATE_TOGETHER says how many the phones log, of which the command line adds a quarter. The nursery is invented.
"""

from __future__ import annotations

import os
import random
import threading
from datetime import UTC, datetime
from pathlib import Path

from icalendar import Calendar

from almanac.actions.look import look
from almanac.actions.record import Request, record
from almanac.feed.entries import entries_of
from almanac.nursery.logbook import read_rows
from almanac.web.app import create_app
from almanac.web.form import fresh_key
from almanac.web.keys import load_keys
from tests.nurseries import bench

HOW_MANY = int(os.environ.get("STICKDATE_TOGETHER", "40"))
LOG = """
2027-01-05 received 7a --count 12 --stage rooting --bin A
2027-01-05 received 8a --count 12 --stage rooting --bin A
2027-01-12 looked --bin A
"""
NOW = datetime(2027, 1, 13, 17, tzinfo=UTC)
_SHARE_BY_HAND = 5  # one in five is logged on the command line


def test_four_phones_and_the_command_line_lose_and_double_nothing(tmp_path: Path) -> None:
    bench(tmp_path, LOG, NOW.date(), bags=48)
    app, keys = create_app(tmp_path, lambda: NOW, ["localhost"]), load_keys(tmp_path)
    app.test_client().get(f"/f/{keys.read}/everything.ics")  # from now on each entry brings the calendar up to it
    work = list(range(HOW_MANY))
    lock, odd, shaky = threading.Lock(), [], random.Random(7)

    def next_one() -> int | None:
        with lock:
            return work.pop() if work else None

    def phone() -> None:
        client = app.test_client()
        client.get(f"/k/{keys.write}")
        while (number := next_one()) is not None:
            data = {"key": fresh_key(), "what": "noted", "about": "7a", "note": f"entry {number}"}
            for _ in range(shaky.choice((1, 1, 2, 3))):  # a phone that does not hear the answer sends it again
                answer = client.post("/log", data=data, headers={"Origin": "http://localhost"})
                while answer.status_code == 503:  # busy: it keeps the entry and sends it again, as the page does
                    answer = client.post("/log", data=data, headers={"Origin": "http://localhost"})
                if answer.status_code != 303:
                    odd.append(answer.status_code)

    def by_hand() -> None:
        for number in range(HOW_MANY, HOW_MANY + HOW_MANY // (_SHARE_BY_HAND - 1)):
            record(tmp_path, NOW, Request("noted", ("8a",), note=f"entry {number}"))

    threads = [threading.Thread(target=each) for each in (phone, phone, phone, phone, by_hand)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    rows, faults = read_rows((tmp_path / "logbook.csv").read_text(encoding="utf-8"))
    notes = [row.note for row in rows if row.note]
    assert not faults
    assert odd == []
    assert sorted(notes) == sorted(f"entry {number}" for number in range(HOW_MANY + HOW_MANY // (_SHARE_BY_HAND - 1)))
    assert len({row.id for row in rows}) == len(rows)
    copied, _ = read_rows((tmp_path / "logbook.backup.csv").read_text(encoding="utf-8"))
    assert [row.id for row in copied] == [row.id for row in rows]

    seen = look(tmp_path, NOW)
    feed = app.test_client().get(f"/f/{keys.read}/everything.ics").data
    told = {str(event["X-STICKDATE-ID"]) for event in Calendar.from_ical(feed).walk("VEVENT")}
    assert {entry.id for entry in entries_of(seen.plan, seen.nursery)} <= told
