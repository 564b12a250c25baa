"""How fast fungus gnats grow, from how many on something is done, and how treatments are repeated."""

from __future__ import annotations

from typing import Annotated, ClassVar

from almanac.faults import Fact, Miswritten
from almanac.plain import dataclass
from almanac.rulebook.fields import Days, Table, Temperature, Within
from almanac.rulebook.programme_numbers import ProgrammeNumbers

ANY_COLD = -90.0  # °C: no mix is as cold


@dataclass(frozen=True, kw_only=True)
class _Told(Table):
    """A number with its source."""

    source: str
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Threshold(_Told):
    """The warmth below which gnats do not develop."""

    at: Temperature


@dataclass(frozen=True, kw_only=True)
class StageDays(_Told):
    """Days of each stage of a gnat at a temperature; it develops no faster above `level`."""

    eggs: Days
    larvae: Days
    pupae: Days
    at: Temperature
    level: Temperature


@dataclass(frozen=True, kw_only=True)
class Longest(_Told):
    """The longest that egg to adult is taken to last, however cold."""

    days: Days


@dataclass(frozen=True, kw_only=True)
class ActAt(_Told):
    """Adults on a card from which something is done against them."""

    adults: Annotated[int, Within(ge=1)]


@dataclass(frozen=True, kw_only=True)
class RoomAir(_Told):
    """Air where none was measured."""

    air: Temperature


@dataclass(frozen=True, kw_only=True)
class TreatmentInterval(_Told):
    """How often a treatment comes again, if larvae do not ask for it sooner; the warmth of the mix that it bears."""

    every: Days
    at_most: Days
    low: Temperature = ANY_COLD
    high: Temperature = 100.0

    def check(self) -> None:
        if not 1 <= self.every <= self.at_most:
            raise Miswritten(Fact("every_backwards"))
        if self.low >= self.high:
            raise Miswritten(Fact("low_above_high"))


@dataclass(frozen=True, kw_only=True)
class FungusGnats(ProgrammeNumbers):
    """How fast gnats grow at the fastest and slowest, from how many on, and how ways against them are repeated."""

    tasks: ClassVar[frozenset[str]] = frozenset(
        ("gnat_card_look", "gnat_cull", "gnat_drench", "gnat_nematodes", "gnat_dry", "gnat_traps", "gnat_clear")
    )
    values: ClassVar[frozenset[str]] = frozenset({"seen", "end", "gap", "range"})
    threshold: Threshold
    fast: StageDays
    slow: StageDays
    longest: Longest
    act_at: ActAt
    room: RoomAir
    slack: Annotated[int, Within(ge=0)]
    larvicide: TreatmentInterval
    nematodes: TreatmentInterval

    def check(self) -> None:
        for stages in (self.fast, self.slow):
            if min(stages.at, stages.level) <= self.threshold.at:
                raise Miswritten(Fact("stages_below_threshold"))
            if min(stages.eggs, stages.larvae, stages.pupae) <= 0:
                raise Miswritten(Fact("stages_of_no_days"))
