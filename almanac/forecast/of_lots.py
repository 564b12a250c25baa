"""The milestones of all lots of a nursery: of those that go on all at once, of one that is over when asked for. Pure.

Of ten winters' lots nine in ten are over. Nothing is planned for them, and few are ever asked for.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from almanac.forecast.milestones import milestones
from almanac.forecast.model import Milestone, Surroundings
from almanac.nursery.lots import Lot


class OfLots(Mapping[str, Mapping[str, Milestone]]):
    """By lot and name."""

    def __init__(
        self, open_lots: Mapping[str, Mapping[str, Milestone]], lots: Mapping[str, Lot], around: Surroundings
    ) -> None:
        """`open_lots` are the milestones of the `lots` that go on."""
        self._open, self._lots, self._around = open_lots, lots, around

    def __getitem__(self, lot: str) -> Mapping[str, Milestone]:
        return self._open[lot] if lot in self._open else milestones(self._lots[lot], self._around)

    def __iter__(self) -> Iterator[str]:
        return iter(self._lots)

    def __len__(self) -> int:
        return len(self._lots)
