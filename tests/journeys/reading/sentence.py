"""A sentence about what may be said to a grower, with its check; where they are written is `sentences/`."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Final

from tests.journeys.reading.read import Walk

Complaints = Iterator[tuple[date, object]]
Check = Callable[[Walk], Complaints]
COMMON: Final = "common practice"


@dataclass(frozen=True)
class Sentence:
    """What must hold of every season in plain English, who says so, and what finds the days on which it does not."""

    name: str
    says: str
    source: str
    check: Check

    def complaints(self, walk: Walk) -> list[str]:
        where = f"{walk.climate.name}, {walk.habit.name}"
        return [f"{where}, {day:%a %d %b %Y}: {what}" for day, what in self.check(walk)]


SENTENCES: dict[str, Sentence] = {}


def sentence(says: str, source: str = COMMON) -> Callable[[Check], Check]:
    """Enter a check under the name of its function."""

    def enter(check: Check) -> Check:
        name = check.__name__
        assert name not in SENTENCES, name
        SENTENCES[name] = Sentence(name, says, source, check)
        return check

    return enter
