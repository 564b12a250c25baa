"""Eight commands and four phones log at once, phones more than once: none is lost, doubled or passed by others.

STICKDATE_TOGETHER says how many entries they log, STICKDATE_LOGGED how many rows there are before. The nursery is
invented.
"""

from __future__ import annotations

import multiprocessing
import os
import random
import threading
import time
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest

from almanac.actions.look import look
from almanac.actions.record import record
from almanac.actions.request import Request
from almanac.feed.entries import entries_of
from almanac.feed.whole import is_whole
from almanac.nursery.logbook import read_rows
from almanac.nursery.turns import Turn
from almanac.web.app import create_app
from almanac.web.form import fresh_key
from almanac.web.keys import load_keys
from tests.faults.test_turns import MOST_OVERTAKEN, overtaken
from tests.feeds import by_id
from tests.nurseries import bench

HOW_MANY = int(os.environ.get("STICKDATE_TOGETHER", "36"))
LOGGED = int(os.environ.get("STICKDATE_LOGGED", "200"))
COMMANDS, PHONES = 8, 4
NOW = datetime(2027, 1, 13, 17, tzinfo=UTC)


def log_of(rows: int) -> str:
    """So many rows, of which most are looks and notes of two lots."""
    days = (date(2027, 1, 6) + timedelta(days=number % 7) for number in range(rows - 2))
    lines = [f"{day} {'looked' if number % 2 else 'noted'} {7 + number % 2}a" for number, day in enumerate(days)]
    return "\n".join([f"2027-01-05 received {lot} --count 12 --stage rooting --bin A" for lot in ("7a", "8a")] + lines)


@pytest.fixture
def turns(tmp_path: Path) -> Iterator[Callable[[], list[tuple[float, float]]]]:
    """When each came and was let in, of all processes."""
    file, enter = tmp_path / "turns", Turn.__enter__

    def noted(turn: Turn) -> Turn:
        came = time.monotonic()
        enter(turn)
        with file.open("a", encoding="ascii") as stream:
            stream.write(f"{came} {time.monotonic()}\n")
        return turn

    def read() -> list[tuple[float, float]]:
        pairs = map(str.split, file.read_text(encoding="ascii").splitlines())
        return [(float(came), float(let_in)) for came, let_in in pairs]

    with patch.object(Turn, "__enter__", noted):
        yield read


def by_hand(folder: Path, numbers: range) -> None:
    for number in numbers:
        record(folder, NOW, Request(what="noted", about=("8a",), note=f"entry {number}"))


def by_phone(folder: Path, client: Any, numbers: range, odd: list[int]) -> None:
    shaky = random.Random(numbers.start)
    client.get(f"/k/{load_keys(folder).write}")
    for number in numbers:
        data = {"key": fresh_key(), "what": "noted", "about": "7a", "note": f"entry {number}"}
        for _ in range(shaky.choice((1, 1, 2, 3))):  # a phone that does not hear the answer sends it again
            answer = client.post("/log", data=data, headers={"Origin": "http://localhost"})
            while answer.status_code == 503:  # busy: it keeps the entry and sends it again, as the page does
                answer = client.post("/log", data=data, headers={"Origin": "http://localhost"})
            if answer.status_code != 303:
                odd.append(answer.status_code)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs processes that start as copies of this one")
def test_eight_commands_and_four_phones_lose_double_and_pass_by_nothing(
    tmp_path: Path, turns: Callable[[], list[tuple[float, float]]]
) -> None:
    folder = bench(tmp_path / "lane", log_of(LOGGED), NOW.date(), bags=48).folder
    app, keys = create_app(folder, lambda: NOW, ["localhost"]), load_keys(folder)
    feed = f"/f/{keys.read}/everything.ics"
    reader = app.test_client()
    reader.get(feed)  # from now on each entry brings the calendar up to it
    shares = [range(first, HOW_MANY, COMMANDS + PHONES) for first in range(COMMANDS + PHONES)]
    odd: list[int] = []

    context = multiprocessing.get_context("fork")
    writers: list[Any] = [context.Process(target=by_hand, args=(folder, share)) for share in shares[:COMMANDS]]
    writers += [
        threading.Thread(target=by_phone, args=(folder, app.test_client(), share, odd)) for share in shares[COMMANDS:]
    ]
    for writer in writers:
        writer.start()
    read = []
    while any(writer.is_alive() for writer in writers):
        read.append(reader.get(feed).data)
        time.sleep(0.2)
    for writer in writers:
        writer.join()

    rows, faults = read_rows((folder / "logbook.csv").read_text(encoding="utf-8"))
    assert not faults
    assert odd == []
    assert sorted(row.note for row in rows if row.note) == sorted(f"entry {number}" for number in range(HOW_MANY))
    assert len({row.id for row in rows}) == len(rows) == LOGGED + HOW_MANY
    copied, _ = read_rows((folder / "logbook.backup.csv").read_text(encoding="utf-8"))
    assert [row.id for row in copied] == [row.id for row in rows]
    assert all(map(is_whole, read))

    seen, last = look(folder, NOW), reader.get(feed).data
    told = by_id(last).keys()
    assert {entry.id for entry in entries_of(seen.plan, seen.nursery)} <= told
    passed = overtaken(turns())
    waited_s = max(let_in - came for came, let_in in turns())
    print(f"{len(turns())} turns, passed by at most {passed}, waited at most {waited_s:.1f} s; {len(read)} feeds read")
    assert passed <= MOST_OVERTAKEN
