"""From the light of the lamp to full sun: how fast, under what, and where it must not."""

from __future__ import annotations

from typing import Annotated, ClassVar

from almanac.faults import Fact, Miswritten
from almanac.plain import dataclass
from almanac.rulebook.fields import Days, Hours, Table, Temperature, TemperatureDifference, Within
from almanac.rulebook.programme_numbers import ProgrammeNumbers

_Share = Annotated[float, Within(gt=0, lt=1)]


@dataclass(frozen=True, kw_only=True)
class UnsaidLamp(Table):
    """The lamp that pots are taken to stand under where the nursery names none [µmol m-2 s-1]."""

    ppfd: Annotated[float, Within(gt=0)]
    hours: Hours
    source: str
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class NaturalShade(Table):
    """The share of light kept off where no sun reaches (`full`), and by a tree or laths where no cloth is at hand."""

    full: _Share
    light: _Share
    source: str
    note: str = ""

    def check(self) -> None:
        if self.light >= self.full:
            raise Miswritten(Fact("cloth_no_lighter", light=self.light, full=self.full))


@dataclass(frozen=True, kw_only=True)
class Carrying(Table):
    """When plants stand out that come in again: the hours between which, the least worth it, how long times stay.

    Not before `after_sunrise` (`after_sunrise_hot` where afternoons are hot) nor after `before_sunset`. The first day
    has `first_day`, each after it `more_a_day`, until these hours are all theirs.
    """

    earliest: Hours
    latest: Hours
    after_sunrise: Hours
    after_sunrise_hot: Hours
    before_sunset: Hours
    first_day: Hours
    more_a_day: Hours
    least: Hours
    new_times: Days
    source: str
    note: str = ""

    def check(self) -> None:
        if not self.earliest + self.least < self.latest < 24:
            raise Miswritten(Fact("hours_backwards"))


@dataclass(frozen=True, kw_only=True)
class HotAfternoon(Table):
    """Where shade stays in the afternoon: the noon sun's height [degrees] or the usual night from which it is hot.

    Where the usual light is no more than the share `cloudy` of a clear sky's, a high sun alone is not.
    """

    sun_deg: Annotated[float, Within(gt=0, le=90)]
    night: Temperature
    cloudy: _Share
    source: str
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Shelter(Table):
    """What shelters plants at night, and how many degrees warmer it is there."""

    adds: TemperatureDifference
    source: str
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Hardening(ProgrammeNumbers):
    """From the lamp to the sun: by what share a day light rises, who goes together, and what sets plants back.

    Out by day once it is `by_day` outside; what is carried is told `told_ahead`. No step gives more than `most_at_once`
    times the light of the one before, however long plants stood there. Plants of a crop potted within `group` go out
    together. Nights out begin `nights_after` full light. Plants brought in go on a step back within `kept_for`, after
    it anew; scorched ones stand a step back for `scorch`. At night a `frame` or `fleece` makes it warmer.
    """

    tasks: ClassVar[frozenset[str]] = frozenset({"harden_out", "harden", "harden_nights", "carry"})
    values: ClassVar[frozenset[str]] = frozenset(
        {"what", "where", "light", "mild", "nightly", "slips", "held", "bears", "where_each", "times", "effort"}
    )
    raise_a_day: Annotated[float, Within(ge=0.05, le=1)]
    most_at_once: Annotated[float, Within(ge=1.5, le=10)]
    group: Days
    nights_after: Days
    kept_for: Days
    scorch: Days
    by_day: Temperature
    told_ahead: Days
    lamp: UnsaidLamp
    shade: NaturalShade
    hours: Carrying
    hot: HotAfternoon
    frame: Shelter
    fleece: Shelter
