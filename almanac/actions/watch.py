"""Publish again whenever the grower's files or the date change, until stopped; trouble is said, and it goes on."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path

from almanac.actions.standing import Mark, marks, today_there
from almanac.faults import Fact, Fault, InputFaults, Stopped, troubles

AGAIN_S = 60  # after trouble with disk or network


def watch(
    folder: Path,
    publish: Callable[[], None],
    complain: Callable[[tuple[Fault | Fact, ...]], None],
    now: Callable[[], datetime],
    wait: Callable[[float], None],
    every_s: float,
) -> None:
    """Publish, and again after each change.

    Args:
        publish: publishes once, and says so
        complain: says what went wrong
        now: the clock
        wait: passes so many seconds; a KeyboardInterrupt ends the watch
        every_s: how often to look [s]
    """
    done: tuple[date, tuple[Mark, ...]] | None = None
    tried = now()
    said: tuple[Fault | Fact, ...] = ()
    try:
        while True:
            seen = today_there(folder, now()), marks(folder)
            waited_s = (now() - tried).total_seconds()
            if seen != done and (not said or waited_s >= AGAIN_S):
                tried = now()
                try:
                    publish()
                    done, said = seen, ()
                except (Stopped, InputFaults, OSError) as trouble:
                    found = troubles(trouble)
                    if found != said:
                        complain(found)
                    said = found
            wait(every_s)
    except KeyboardInterrupt:
        return
