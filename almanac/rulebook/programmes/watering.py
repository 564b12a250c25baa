"""Water by weight: what a mix holds, how much of it may go, what a weighing must show."""

from __future__ import annotations

from typing import Annotated, ClassVar

from almanac.faults import Fact, Miswritten
from almanac.plain import dataclass
from almanac.rulebook.fields import Days, Table, Within
from almanac.rulebook.programme_numbers import ProgrammeNumbers

_Share = Annotated[float, Within(gt=0, lt=1)]


@dataclass(frozen=True, kw_only=True)
class Water(Table):
    """The water in a bag or pot, as shares of its weight when it was last watered and had drained (its full weight).

    `available` is what plants can draw. It is watered when the share `gone` of that has been drawn, and before
    `gone_at_most` has. Nothing alive is as light as the share `driest` of the full weight.
    """

    available: _Share
    gone: _Share
    gone_at_most: _Share
    driest: _Share
    source: str
    note: str = ""

    def check(self) -> None:
        if not self.gone <= self.gone_at_most:
            raise Miswritten(Fact("gone_backwards", gone_at_most=self.gone_at_most, gone=self.gone))
        latest = 1 - self.available * self.gone_at_most
        if not self.driest < latest:
            raise Miswritten(Fact("driest_too_wet", driest=self.driest, latest=latest))

    def weighs(self, full: float, gone: float) -> float:
        """What a bag or pot of a full weight weighs [g] when a share of its available water is gone."""
        return full * (1 - self.available * gone)


@dataclass(frozen=True, kw_only=True)
class Watering(ProgrammeNumbers):
    """Water by weight: a line through the last weighings since the last watering.

    `least` weighings make a line, of the `last` ones; a rise by the share `rise` is a watering, and what lies so far
    off the others a slip. The next weighing is asked for at the share `weigh_at` of the wait, or `weigh_every` so long
    where nothing is known of it. First weighed no more than `back` days after the watering, the line tells what it
    weighed then; later, it may have been watered since. A date farther than `ahead` is not believed, and weighings
    older than `stale` say nothing any more.
    """

    tasks: ClassVar[frozenset[str]] = frozenset({"water", "weigh", "pot_leaves", "dry_water"})
    values: ClassVar[frozenset[str]] = frozenset({"what", "target", "said"})
    least: Annotated[int, Within(ge=3)]
    last: Annotated[int, Within(ge=3)]
    rise: _Share
    weigh_at: _Share
    weigh_every: Days
    back: Days
    ahead: Days
    stale: Days
    bag: Water
    pot: Water

    def check(self) -> None:
        if self.last < self.least:
            raise Miswritten(Fact("last_below_least", last=self.last, least=self.least))
