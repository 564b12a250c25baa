"""The numbers of programmes: care whose days are worked out (a generation, a dose of light) instead of counted.

A care file of a programme's name holds them as `[programme]`, and marks as `worked` the tasks whose days it gives.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, ClassVar, Self

from pydantic import Field, model_validator

from almanac.rulebook.fields import Days, Hours, Table, Temperature, TemperatureDifference, Volume


class Programme(Table):
    """What every programme has: `tasks` whose days it works out, and the `values` that their texts may name."""

    tasks: ClassVar[frozenset[str]] = frozenset()
    values: ClassVar[frozenset[str]] = frozenset()
    source: str
    note: str = ""


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


class Repeat(_Told):
    """How often a treatment comes again, if larvae do not ask for it sooner; the warmth of the mix that it bears."""

    every: Days
    at_most: Days
    low: Temperature = -90.0
    high: Temperature = 100.0

    @model_validator(mode="after")
    def _rising(self) -> Self:
        if not 1 <= self.every <= self.at_most:
            raise ValueError("every must be a day or more, and at_most no less")
        if self.low >= self.high:
            raise ValueError("low must be below high")
        return self


class FungusGnats(Programme):
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
    larvicide: Repeat
    nematodes: Repeat

    @model_validator(mode="after")
    def _above_the_threshold(self) -> Self:
        for stages in (self.fast, self.slow):
            if min(stages.at, stages.level) <= self.threshold.at:
                raise ValueError("fast and slow must hold above the threshold, where gnats develop at all")
            if min(stages.eggs, stages.larvae, stages.pupae) <= 0:
                raise ValueError("fast and slow need more than nothing for each stage")
        return self


class Light(Programme):
    """Lamps over bins.

    `least_hours` is the shortest day for plants in leaf; the longest, and the dose, are the crop's. A timer is set anew
    only for a `change`, and left so for `settle_days`. `usual_share` of a clear sky is taken for a usual day where the
    place has no monthly means. `closed` and `beside_day` say what a lamp in a closed bin asks for, and one that adds to
    the day.
    """

    tasks: ClassVar[frozenset[str]] = frozenset({"lamp_on", "lamp_set", "lamp_probe"})
    values: ClassVar[frozenset[str]] = frozenset({"on", "off", "hours", "set", "timer", "gives", "place"})
    least_hours: Hours
    change: Hours
    settle_days: Annotated[int, Field(ge=1)]
    usual_share: Annotated[float, Field(gt=0, le=1)]
    closed: str
    beside_day: str


class Weaning(Programme):
    """From the closed bag, or the covered pot, to room air in steps; rooted bags off the mat.

    A step comes `between` days after the one before and may be `late` by so much; the first lift of a cover comes
    `after_potting`, the full lamp after days `in_shade`. Wilting within `holds` of the last step sets it back one. The
    mat is left, within `off_mat_within` of the last step, where the base is warmer than the air by `cooler`; for a bin
    that is cooler by as much where one has room.
    """

    tasks = frozenset(
        {
            "wean_loosen",
            "wean_half",
            "wean_open",
            "cover_lift",
            "cover_half",
            "uncover",
            "to_lamp",
            "cool_bin",
            "off_mat",
        }
    )
    values = frozenset({"part", "to", "room"})
    between: Days
    late: Days
    after_potting: Days
    in_shade: Days
    holds: Days
    cooler: TemperatureDifference
    off_mat_within: Days

    @model_validator(mode="after")
    def _one_a_day(self) -> Self:
        if self.between < 1:
            raise ValueError('between must be a day or more; write for example "3 d"')
        if not self.late < self.between:
            raise ValueError("late must be less than between, or two steps of a lot could fall on one day")
        return self


class Potting(Programme):
    """Pots and mix for the plants to come: `pot` holds so much, `settling` is the share more that mix needs.

    They are made ready `lead` days before the lot is likely potted up.
    """

    tasks = frozenset({"pots_ready"})
    values = frozenset({"pots", "mix", "count", "week"})
    pot: Volume
    settling: Annotated[float, Field(ge=0, lt=1)]
    lead: Days

    @property
    def mix_l(self) -> float:
        """Mix to make up for one pot [litres]."""
        return self.pot * (1 + self.settling)


class Potted(Programme):
    """Plants in pots while they grow, and the seasons after.

    A pot has settled `settles` after potting or coming outside: its own looks begin. Feed comes every `feed_every`, in
    pots under cover from `first_feed` after potting until `none_before_hardening`; outside from the accepted frost
    until `last_feed_before_frost`, or, where no frost comes, while days are at least `feed_day_length`. Pots get hot
    while the sun stands at noon at least `hot_noon_sun_deg` high, from `hot_after_safe` after the accepted frost, in
    places with `hot_season` between the average last and first frost, and, where monthly lows are known, a mean low of
    at least `hot_lowest` after midsummer.
    """

    tasks = frozenset({"pot_look", "outside_look", "feed", "last_feed", "pot_heat", "pot_on", "offer_again"})
    settles: Days
    feed_every: Days
    first_feed: Days
    last_feed_before_frost: Days
    feed_day_length: Hours
    none_before_hardening: Days
    hot_noon_sun_deg: float
    hot_season: Days
    hot_after_safe: Days
    hot_lowest: Temperature


class Autumn(Programme):
    """Plants in pots from the first frost to the last.

    Leaves are taken to be down `leaf_fall` after the day by which half of all years have had frost, when days are
    shorter than `rest_day_length`; growth to begin when they are longer again, `wakes_before_safe` before the accepted
    frost. Plants whose roots die at `tender_roots` or warmer go under cover, others are huddled. Where the accepted
    frosts of spring and autumn lie no more than `least_season` apart, nobody is told that frost begins: it never ends.
    """

    tasks = frozenset({"frost_ready", "go_dormant", "pots_in", "pots_wrap", "rest_water", "spring_frost"})
    values = frozenset({"frosts", "known"})
    leaf_fall: Days
    rest_day_length: Hours
    wakes_before_safe: Days
    tender_roots: Temperature
    least_season: Days


_Share = Annotated[float, Field(gt=0, lt=1)]


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

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if not self.gone <= self.gone_at_most:
            raise ValueError(f"gone_at_most {self.gone_at_most:g} is less than gone; write at least {self.gone:g}")
        latest = 1 - self.available * self.gone_at_most
        if not self.driest < latest:
            text = "is no less than what is left of the weight at the latest watering; write less than"
            raise ValueError(f"driest {self.driest:g} {text} {latest:.2g}")
        return self

    def weighs(self, full: float, gone: float) -> float:
        """What a bag or pot of a full weight weighs [g] when a share of its available water is gone."""
        return full * (1 - self.available * gone)


class Watering(Programme):
    """Water by weight: a line through the last weighings since the last watering.

    `least` weighings make a line, of the `last` ones; a rise by the share `rise` is a watering, and what lies so far
    off the others a slip. The next weighing is asked for at the share `weigh_at` of the wait, or `weigh_every` so long
    where nothing is known of it. A date farther than `ahead` is not believed, and weighings older than `stale` say
    nothing any more.
    """

    tasks: ClassVar[frozenset[str]] = frozenset({"water", "weigh", "pot_look", "dry_water"})
    values: ClassVar[frozenset[str]] = frozenset({"what", "target", "said"})
    least: Annotated[int, Field(ge=3)]
    last: Annotated[int, Field(ge=3)]
    rise: _Share
    weigh_at: _Share
    weigh_every: Days
    ahead: Days
    stale: Days
    bag: Water
    pot: Water

    @model_validator(mode="after")
    def _enough(self) -> Self:
        if self.last < self.least:
            raise ValueError(f"last {self.last} is less than least; write at least {self.least}")
        return self


# By the name of the care file; `almanac/plan/programmes` has a file of the same name that works it out.
PROGRAMMES: Mapping[str, type[Programme]] = {
    "fungus_gnats": FungusGnats,
    "light": Light,
    "weaning": Weaning,
    "potting": Potting,
    "autumn": Autumn,
    "potted": Potted,
    "watering": Watering,
}
