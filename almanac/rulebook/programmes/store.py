"""When wood is bare outdoors, and when it is taken and stuck."""

from __future__ import annotations

from typing import Annotated, Literal

from almanac.plain import dataclass
from almanac.rulebook.fields import Days, Table, Temperature, TemperatureDifference, Within
from almanac.rulebook.programme_numbers import ProgrammeNumbers


@dataclass(frozen=True, kw_only=True)
class Dormancy(Table):
    """When leaves fall and buds swell outdoors, by the site's frosts, the usual lows of nights and the shortest day.

    Leaves fall `leaves_fall` after the first frost of autumn, not before nights are usually as cold as `leaves_low`
    (left out: frost alone takes them), and at the latest so many days from the shortest day, `leaves_by`; those that
    then still hang are stripped. Buds swell when warmth has added up to `buds_warmth`: how far the lows of nights lie
    above `buds_base` [degree-days, Celsius], from so many days after the shortest day on, `buds_from`, when rest is
    over. Wood is best taken `early` or `late` in between.
    """

    leaves_fall: Days
    leaves_low: Temperature | None = None
    leaves_by: Annotated[int, Within(ge=-180, le=0)]
    buds_from: Annotated[int, Within(ge=0, le=180)]
    buds_base: Temperature
    buds_warmth: Annotated[float, Within(gt=0)]
    best: Literal["early", "late"] = "early"
    source: str
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Carried(Table):
    """What a logged leaf fall or swelling tells of later winters: the more, the less a plant differs from year to year.

    `rule_off` is how far the rules are off for a plant, `year_differs` how far one year is off its own usual day [days,
    standard deviations].
    """

    rule_off: Days
    year_differs: Days
    source: str
    note: str = ""

    def share(self, winters: int) -> float:
        """How much of the mean of what so many winters were off by holds for the next."""
        return winters / (winters + (self.year_differs / self.rule_off) ** 2)


@dataclass(frozen=True, kw_only=True)
class Store(ProgrammeNumbers):
    """When dormant wood is taken and stuck.

    It is stuck `in_leaf` after buds swell outdoors at the latest, when plants there are in leaf; once its buds were
    seen to swell it keeps for `swollen_keeps`. Buds in store swell twice as fast in one `twice_per`
    warmer. `look_within` is how lately late wood must have been looked at to be
    sold; wood past its range is asked for every `ask_every`. `dormancy` is that of a crop which gives none of its own;
    the good day to take wood comes `due` after the window opens, or before it closes where late wood is best. Forecasts
    for a lot to come are of one of `lot` cuttings. `spare` is the share more that is cut of what lots planned and
    orders ask for, where nobody says how many are wanted.
    """

    tasks = frozenset({"take_wood", "stick_wood", "store_limit", "store_past", "store_look_late"})
    values = frozenset({"bare", "left", "what", "purpose", "early", "ends"})
    due: Days
    lot: Annotated[int, Within(ge=1)]
    spare: Annotated[float, Within(ge=0, le=1)]
    in_leaf: Days
    swollen_keeps: Days
    twice_per: Annotated[TemperatureDifference, Within(gt=0)]
    look_within: Days
    ask_every: Days
    dormancy: Dormancy
    carried: Carried
