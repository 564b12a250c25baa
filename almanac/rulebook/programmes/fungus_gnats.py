"""How fast fungus gnats grow, from how many on something is done, and how treatments are repeated."""

from __future__ import annotations

from typing import Annotated, ClassVar, Self

from pydantic import Field, model_validator

from almanac.faults import Fact, Miswritten
from almanac.rulebook.fields import Days, Table, Temperature
from almanac.rulebook.programme_numbers import ProgrammeNumbers


class _Told(Table):
    """A number with its source."""

    source: str
    note: str = ""


class Threshold(_Told):
    """The warmth below which gnats do not develop."""

    at: Temperature


class StageDays(_Told):
    """Days of each stage of a gnat at a temperature; it develops no faster above `level`."""

    eggs: Days
    larvae: Days
    pupae: Days
    at: Temperature
    level: Temperature


class Longest(_Told):
    """The longest that egg to adult is taken to last, however cold."""

    days: Days


class ActAt(_Told):
    """Adults on a card from which something is done against them."""

    adults: Annotated[int, Field(ge=1)]


class RoomAir(_Told):
    """Air where none was measured."""

    air: Temperature


class TreatmentInterval(_Told):
    """How often a treatment comes again, if larvae do not ask for it sooner; the warmth of the mix that it bears."""

    every: Days
    at_most: Days
    low: Temperature = -90.0
    high: Temperature = 100.0

    @model_validator(mode="after")
    def _rising(self) -> Self:
        if not 1 <= self.every <= self.at_most:
            raise Miswritten(Fact("every_backwards"))
        if self.low >= self.high:
            raise Miswritten(Fact("low_above_high"))
        return self


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
    slack: Annotated[int, Field(ge=0)]
    larvicide: TreatmentInterval
    nematodes: TreatmentInterval

    @model_validator(mode="after")
    def _above_the_threshold(self) -> Self:
        for stages in (self.fast, self.slow):
            if min(stages.at, stages.level) <= self.threshold.at:
                raise Miswritten(Fact("stages_below_threshold"))
            if min(stages.eggs, stages.larvae, stages.pupae) <= 0:
                raise Miswritten(Fact("stages_of_no_days"))
        return self
