"""Turns at a nursery: whoever waits is let in, in the order they came, whatever another does."""

from __future__ import annotations

import os
import threading
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from almanac.faults import MachineTrouble
from almanac.nursery.turns import Turn
from almanac.web.app import create_app
from almanac.web.form import fresh_key
from almanac.web.keys import load_keys
from tests.nurseries import bench

MOST_OVERTAKEN = 2


def overtaken(turns: list[tuple[float, float]]) -> int:
    """By how many, at most, who came later each was overtaken; `turns` are when each came and was let in."""
    return max(sum(came < other and got < let_in for other, got in turns) for came, let_in in turns)


def test_one_who_writes_in_a_loop_overtakes_nobody(tmp_path: Path) -> None:
    turns: list[tuple[float, float]] = []

    def write(times: int, breath_s: float) -> None:
        for _ in range(times):
            came = time.monotonic()
            with Turn(tmp_path):
                turns.append((came, time.monotonic()))
                time.sleep(0.01)
            time.sleep(breath_s)

    writers = [threading.Thread(target=write, args=args) for args in [(40, 0), (40, 0), *[(6, 0.05)] * 6]]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()

    assert len(turns) == 116
    assert overtaken(turns) <= MOST_OVERTAKEN
    assert os.listdir(tmp_path) in ([], [".stickdate.lock"])


def test_a_turn_that_does_not_come_is_the_machine_s_fault_and_leaves_nothing(tmp_path: Path) -> None:
    with Turn(tmp_path), pytest.raises(MachineTrouble) as trouble, Turn(tmp_path, patience_s=0.1):
        pytest.fail("two at once")

    assert trouble.value.fact.kind == "busy"
    assert list(tmp_path.glob(".stickdate.turn.*")) == []


def test_the_ticket_of_one_that_was_killed_stops_nobody_for_long(tmp_path: Path) -> None:
    ticket = tmp_path / ".stickdate.turn.00000000000000000001.1.1"
    ticket.touch()
    with pytest.raises(MachineTrouble), Turn(tmp_path, patience_s=0.1):
        pytest.fail("it came before")
    os.utime(ticket, (time.time() - 5, time.time() - 5))

    with Turn(tmp_path, patience_s=0.1):
        assert not ticket.exists()


def test_who_comes_while_others_wait_waits_behind_them(tmp_path: Path) -> None:
    order = []
    first = Turn(tmp_path)

    def write(name: str) -> None:
        with Turn(tmp_path):
            order.append(name)

    with first:
        waiting = [threading.Thread(target=write, args=(name,)) for name in "abc"]
        for each in waiting:
            each.start()
            time.sleep(0.05)
    write("late")
    for each in waiting:
        each.join()

    assert order == ["a", "b", "c", "late"]


def test_a_phone_is_answered_in_time_while_another_writes_on_and_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = datetime(2027, 1, 13, 17, tzinfo=UTC)
    bench(tmp_path, "2027-01-05 received 7a --count 12 --stage rooting --bin A", now.date())
    phone, keys = create_app(tmp_path, lambda: now, ["localhost"]).test_client(), load_keys(tmp_path)
    phone.get(f"/k/{keys.write}")
    monkeypatch.setattr("almanac.web.page.PATIENCE_S", 0.1)
    entry = {"key": fresh_key(), "what": "noted", "about": "7a", "note": "at last"}

    with Turn(tmp_path):
        refused = phone.post("/log", data=entry, headers={"Origin": "http://localhost"})
    taken = phone.post("/log", data=entry, headers={"Origin": "http://localhost"})

    assert (refused.status_code, taken.status_code) == (503, 303)
