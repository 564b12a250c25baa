"""What may stand in a rule file: crops, methods, care, cautions, sources; checked as it comes in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from datetime import date, timedelta
from functools import cache
from typing import Annotated, Literal

from almanac.faults import Fact, Miswritten
from almanac.plain import dataclass
from almanac.rulebook.fields import Days, Hours, Length, Table, Temperature, Volume, Within, between, matching
from almanac.rulebook.lay_flat import volume_l
from almanac.rulebook.programme_numbers import ProgrammeNumbers
from almanac.rulebook.programmes import NUMBERS
from almanac.rulebook.programmes.store import Dormancy

Kind = Literal["look", "do", "window", "deadline", "treat"]
Scope = Literal["lot", "bin", "crop", "nursery"]
Stage = Literal["store", "rooting", "pot", "outside"]
Feed = Literal["bench", "seasons", "sales"]
Clock = Literal["base", "air", "store", "days"]
Share = Annotated[float, Within(gt=0, lt=1)]
Spread = Annotated[float, Within(ge=0, le=2)]
HOURS_OF_DAY = 24
SITE_DAYS = ("shortest_day", "longest_day", "frost_accepted", "first_frost")
LOT_DAYS = ("started", "store_early", "store_limit", "planned", "ordered")
SEASON_DAYS = ("collecting", "dormant_sale")
Id = Annotated[str, matching(r"[a-z][a-z0-9_]*", "short_name")]
Where = Literal["bin", "tray", "bed"]  # what cuttings root in: bags in a bin, cells in a tray, sticks in a bed


@dataclass(frozen=True, kw_only=True)
class Source(Table):
    """Where a number comes from, written once."""

    title: str
    publisher: str = ""
    year: int | None = None
    where: str = ""
    kind: Literal["published", "common practice", "from memory", "own"]

    def __str__(self) -> str:
        parts = [self.title, self.publisher, str(self.year or ""), self.where]
        told = ", ".join(part for part in parts if part)
        return told if self.kind in ("published", "own") else f"{told} ({self.kind})" if told != self.kind else told


@dataclass(frozen=True, kw_only=True)
class Caution(Table):
    """What can hurt or break a law, the usual protection, and who has the last word."""

    short: str
    text: str
    source: str


@dataclass(frozen=True, kw_only=True)
class Chill(Table):
    """How the rest of buds gives way to cold.

    From `deep_until` days after the shortest day on, each week takes the share `a_week` off the days they need, until
    `least` of them is left. A day in the cold store counts as `in_store` of one on the plant.
    """

    deep_until: int
    a_week: Annotated[float, Within(ge=0, lt=1)]
    in_store: Annotated[float, Within(ge=0, le=1)]
    least: Share
    source: str
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Duration(Table):
    """Days between two milestones for one cutting: a median, and how far cuttings, lots, varieties and growers differ.

    The spreads are standard deviations of the logarithm; `at` is the temperature the median holds at, `chill` how the
    date shortens it for buds.
    """

    median: Days
    spread: Spread
    between_lots: Spread = 0.0
    between_varieties: Spread = 0.0
    between_growers: Spread = 0.0
    at: Temperature | None = None
    chill: Chill | None = None
    source: str
    note: str = ""

    def check(self) -> None:
        if self.median <= 0:
            raise Miswritten(Fact("median_zero"))


@dataclass(frozen=True, kw_only=True)
class Warmth(Table):
    """How fast development goes at a temperature: rising from `base`, full across the optimum, none at `ceiling`."""

    base: Temperature
    optimum_low: Temperature
    optimum_high: Temperature
    ceiling: Temperature
    source: str
    note: str = ""

    def check(self) -> None:
        if not self.base < self.optimum_low <= self.optimum_high < self.ceiling:
            raise Miswritten(Fact("warmth_not_rising"))


@dataclass(frozen=True, kw_only=True)
class Chilling(Table):
    """The cold that ends a crop's rest: so many hours of a winter no warmer than `below`; kinds differ within them."""

    hours_least: Annotated[int, Within(ge=0)]
    hours_most: Annotated[int, Within(ge=0)]
    below: Temperature
    source: str
    note: str = ""

    def check(self) -> None:
        if not self.hours_least <= self.hours_most:
            raise Miswritten(Fact("chilling_not_rising"))


@dataclass(frozen=True, kw_only=True)
class ColdStore(Table):
    """How dormant wood keeps: how warm the store is, and for how long, from the careful end to the latest."""

    low: Temperature
    high: Temperature
    keeps_low: Days
    keeps_high: Days
    source: str
    note: str = ""

    def keeps(self, cut: date) -> tuple[date, date]:
        """From when on wood cut on a day may no longer keep, and from when on it does not."""
        return cut + timedelta(days=round(self.keeps_low)), cut + timedelta(days=round(self.keeps_high))

    def check(self) -> None:
        if not 0 < self.keeps_low <= self.keeps_high:
            raise Miswritten(Fact("keeps_not_rising"))
        if self.low > self.high:
            raise Miswritten(Fact("store_not_rising"))


@dataclass(frozen=True, kw_only=True)
class Cutting(Table):
    """How a cutting is made: its length and thickness, the `nodes` it has at least and how many of them come under the
    mix.

    `beside` is what the crop needs besides at sticking, `disease` what travels in its wood, each as a sentence.
    """

    length_low: Length
    length_high: Length
    thick_low: Length
    thick_high: Length
    nodes: Annotated[int, Within(ge=2)]
    under: Annotated[int, Within(ge=1)]
    beside: str = ""
    disease: str
    source: str
    note: str = ""

    def check(self) -> None:
        if not 0 < self.length_low <= self.length_high or not 0 < self.thick_low <= self.thick_high:
            raise Miswritten(Fact("cutting_not_rising"))
        if self.under >= self.nodes:
            raise Miswritten(Fact("no_node_above"))

    def longest_in(self, bag: Bag) -> float:
        """The longest that goes into a bag so that its neck closes, nodes taken as evenly spaced [cm]."""
        share = self.under / self.nodes
        return min(bag.fill / share, (bag.length - bag.fill - bag.neck) / (1 - share))

    def fits(self, bag: Bag) -> bool:
        """Whether the shortest does; measures in inches are no whole centimetres."""
        return self.longest_in(bag) > self.length_low - 0.05


@dataclass(frozen=True, kw_only=True)
class LightWanted(Table):
    """Light for cuttings in leaf: hours a day, and the lightest and heaviest daily light integral they bear."""

    hours: Hours
    dark: Hours
    dli_low: float
    dli_high: float
    source: str
    note: str = ""

    def check(self) -> None:
        if self.hours + self.dark > HOURS_OF_DAY:
            raise Miswritten(Fact("light_beyond_a_day", hours=self.hours, dark=self.dark))
        if not 0 < self.dli_low <= self.dli_high:
            raise Miswritten(Fact("light_not_rising"))


@dataclass(frozen=True, kw_only=True)
class Killed(Table):
    """What cold kills a part of the plant; `of` names it as its entry does, where kinds differ more than ages do."""

    of: str = ""
    killed: Temperature
    source: str
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Cold(Table):
    """What cold does: the usual night from which plants in leaf live out, hardened off, and what kills.

    Until they are hardened none should be colder; after it a single one may be, down to near what kills new growth.

    `grown_wood` is bare wood of grown plants, fully dormant; `young_wood` that of young plants and of late growth;
    `roots` are those in pots, less hardy than tops and than roots in the ground.
    """

    lowest_night: Temperature
    new_growth_killed: Temperature
    grown_wood: Killed
    young_wood: Killed
    roots: Killed | None = None
    source: str
    note: str = ""

    @property
    def roots_killed(self) -> float:
        """What kills roots in a pot [°C]; where nothing is known, what kills soft growth is feared."""
        return self.roots.killed if self.roots else self.new_growth_killed


@dataclass(frozen=True, kw_only=True)
class Strike(Table):
    """What share of cuttings roots and finishes, before the grower's own lots say more: a Beta by mean and weight."""

    rooted: Share
    finished: Share
    concentration: Annotated[float, Within(gt=0)]
    source: str
    note: str = ""

    def check(self) -> None:
        if self.finished > self.rooted:
            raise Miswritten(Fact("finished_over_rooted", finished=self.finished, rooted=self.rooted))


@dataclass(frozen=True, kw_only=True)
class InGround(Table):
    """How a crop's sticks go into a bed: in `autumn`, in `spring` (winter's end), or in `either`; how deep, how far
    apart in the row.
    """

    season: Literal["autumn", "spring", "either"]
    depth: Length
    apart: Length
    source: str
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class OfMethod(Table):
    """What a crop says of one way of rooting alone; whatever is left out is as for its others.

    `ground` is needed where cuttings stand in a bed.
    """

    cutting: Cutting | None = None
    ground: InGround | None = None
    strike: Strike | None = None
    durations: Mapping[str, Duration] = field(default_factory=dict)
    source: str
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Crop(Table):
    """One plant: `rules/crops/<id>.toml`. Its `cautions` are told with work that handles or sells it.

    Of its `methods` the first is the one proposed where the nursery's usual one does not suit it; what it says of one
    alone stands under `method`.
    """

    id: Id
    title: str
    botanical: str
    methods: tuple[str, ...]
    cautions: tuple[str, ...] = ()
    taking: str
    taking_source: str
    base: Warmth
    air: Warmth
    dormancy: Dormancy | None = None
    chilling: Chilling | None = None
    cutting: Cutting | None = None
    store: ColdStore
    light: LightWanted
    cold: Cold
    strike: Strike
    durations: Mapping[str, Duration]
    method: Mapping[str, OfMethod] = field(default_factory=dict)

    def strike_by(self, method: str) -> Strike:
        """The shares that root and finish by a method."""
        return (self.method[method].strike if method in self.method else None) or self.strike

    def cutting_for(self, method: str) -> Cutting | None:
        """How its cuttings are made for a method."""
        return (self.method[method].cutting if method in self.method else None) or self.cutting

    def duration(self, milestone: str, method: str) -> Duration | None:
        """Its own days to a milestone by a method."""
        own = self.method[method].durations.get(milestone) if method in self.method else None
        return own or self.durations.get(milestone)


@dataclass(frozen=True, kw_only=True)
class MilestoneRule(Table):
    """How a milestone follows from earlier ones (from the latest of several).

    `clock` says what drives it: the warmth of the base, of the air, of the cold store, or plain days. `share` is that
    of the lot which must show it (left out: the first cutting). Not logging a sign that is `often_missed` says nothing
    to what follows. One that is `kept` is a wait that the grower keeps: looks that do not log it say nothing of it. Nor
    do they of one that is `counted`, bag by bag: only a count does, be it of none.
    A crop's own duration goes before the general one written here. A milestone that is an act of the grower waits for
    `not_before`: the first day with no more than the accepted chance of frost, then or within `frost_free_days` after,
    and with nights usually as warm as the crop wants, then and `warm_days` later, where they are known; or it comes
    `ahead_days` before such a day; or for a day on which the crop is likely bare outdoors (`dormant`), or is not
    (`growth`). With `ramp` its days are those of the lot's hardening; the duration stands for its spread.
    """

    name: Id
    title: str
    after: tuple[str, ...]
    clock: Clock
    share: Share | None = None
    settled_by: tuple[str, ...] = ()
    often_missed: bool = False
    duration: Duration | None = None
    kept: bool = False
    counted: bool = False
    not_before: Literal["frost_accepted", "dormant", "growth"] | None = None
    frost_free_days: Annotated[int, Within(ge=0)] = 0
    warm_days: Annotated[int, Within(ge=0)] = 0
    ahead_days: Annotated[int, Within(ge=0)] = 0
    ramp: bool = False


@dataclass(frozen=True, kw_only=True)
class Bag(Table):
    """The bag of a method: a tube of `width` lying flat, `length` long, filled to `fill`.

    `settling` is the share more that mix needs. What lies above the fill is for the buds and the `neck`, which is what
    the band takes.
    """

    width: Length
    length: Length
    fill: Length
    neck: Length = 0.0
    settling: Annotated[float, Within(ge=0, lt=1)]
    source: str
    note: str = ""

    @property
    def volume_l(self) -> float:
        """What it holds, filled [litres]."""
        return volume_l(self.width, self.fill)

    @property
    def mix_l(self) -> float:
        """Mix to make up for one bag [litres]."""
        return self.volume_l * (1 + self.settling)

    def check(self) -> None:
        if not 0 < self.fill < self.length - self.neck or self.neck < 0:
            raise Miswritten(Fact("no_neck"))
        if self.width <= 0:
            raise Miswritten(Fact("width_zero"))


@dataclass(frozen=True, kw_only=True)
class Conditions(Table):
    """When a task applies at all, by site, day, nursery, variety, and whether a lot came as plants with roots, or is
    `under_cover`, not rooting in a bed outdoors.

    With `frost_free_days` only if for so long no frost is likelier than the grower accepts.
    """

    frost_chance_at_most: Literal["accepted"] | Share | None = None
    frost_free_days: Annotated[int, Within(ge=1)] | None = None
    day_length_below: Hours | None = None
    day_length_at_least: Hours | None = None
    sells: Literal["dormant", "rooted", "any"] | None = None
    protected: bool | None = None
    came_ready: bool | None = None
    from_elsewhere: bool | None = None
    under_cover: bool | None = None


_WORKED = {"properties": {"worked": {"const": True}}, "required": ["worked"]}
_WINDOW = ("opens_day", "due_day", "closes_day")
_COUNTED = {  # as `TaskRule` checks it
    "if": {"anyOf": [{"required": ["every_days"]}, {"properties": {"kind": {"const": "look"}}, "required": ["kind"]}]},
    "then": {
        "required": ["every_days", "first_day"],
        "properties": {"kind": {"enum": ["look", "treat"]}, **dict.fromkeys(_WINDOW, False)},
    },
    "else": {"required": list(_WINDOW)},
}


@dataclass(frozen=True, kw_only=True)
class TaskRule(Table):
    """One task: what, for whom, from when, how often, until what.

    A look or a repeated treatment has `first_day` and `every_days` (a treatment may be `slack_days` late). Those are a
    look's wished days: for a bench day it waits until `longest_days` after the last one, and no longer. Anything else
    has `opens_day`, `due_day` and `closes_day`, counted from the early, likely and late dates of the milestone `after`
    (a deadline from the early date alone). `overdue` counts instead from the day by which 95 lots in 100 would have
    shown it; `once_logged` waits until it is logged, however likely; `needs` names signs of which one must have been
    logged, if there are any; `without` signs of which those it is about showed none; `waits_for` tasks that go first
    where they are asked of the same cuttings. With `again_days` it is a question: asked again so many days after it was
    asked or answered, by a count of none of what it counts from or by one of its `answers`, as long as it stands and
    till `last_day`. `until` names the events that end the task; past its latest day a window that `lapses` is over, any
    other is overdue. Lots of a crop share one entry, dated by the last of them, where none waits longer for it than
    from `due_day` to `closes_day`, or than `group_days` if the rule says so (a deadline is dated by the first).
    `multiplies` marks work that a protected variety forbids without leave, `crop_cautions` work at which the crop's own
    cautions are told. `short` is what it is called where letters are few, after its lots in a calendar's title. `log`
    says how to log it, for `stickdate`. In `how` and `checklist`, `{mat}`, `{store}`,
    `{keeps}`, `{night}`, `{wood}`, `{growth}`, `{roots}`, `{cutting}` and `{stick}` stand for the crop's own values.
    The days of a task that is `worked` are worked out by its file's programme, whose values its title and text may name
    as well; what it may say of days is then for that programme to use. `listed` is what a list of rules calls a task
    whose title such values make.
    """

    together = between(
        {"if": _WORKED, "else": _COUNTED},
        {
            "if": {"required": ["longest_days"]},
            "then": {"required": ["kind"], "properties": {"kind": {"const": "look"}}},
        },
        {
            "if": {"properties": {"scope": {"const": "nursery"}}, "required": ["scope"]},
            "then": {"properties": {"after": {"enum": [*SEASON_DAYS, *SITE_DAYS]}}},
            "else": {"if": {"not": _WORKED}, "then": {"properties": {"after": {"not": {"enum": [*SEASON_DAYS]}}}}},
        },
    )
    id: Id
    title: str
    listed: str = ""
    short: str = ""
    kind: Kind
    scope: Scope = "lot"
    feed: Feed | None = None
    while_in: Stage | None = None
    methods: tuple[str, ...] = ()
    after: str
    overdue: bool = False
    once_logged: bool = False
    needs: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    waits_for: tuple[str, ...] = ()
    again_days: Annotated[int, Within(ge=1)] | None = None
    answers: tuple[str, ...] = ()
    worked: bool = False
    lapses: bool = False
    until: tuple[str, ...] = ()
    first_day: int | None = None
    every_days: Annotated[int, Within(ge=1)] | None = None
    longest_days: Annotated[int, Within(ge=1)] | None = None
    last_day: int | None = None
    slack_days: Annotated[int, Within(ge=0)] = 0
    opens_day: int | None = None
    due_day: int | None = None
    closes_day: int | None = None
    group_days: Annotated[int, Within(ge=0)] | None = None
    minutes: Annotated[float, Within(ge=0)] = 0.0
    how: str = ""
    checklist: tuple[str, ...] = ()
    log: Annotated[str, matching(r"(log [a-z_]+( .*)?)?", "log")] = ""
    cautions: tuple[str, ...] = ()
    multiplies: bool = False
    crop_cautions: bool = False
    source: str
    only_if: Conditions = Conditions()

    @property
    def logged_as(self) -> str:
        """The event that says it is done, empty where none does; `noted` says nothing of the kind."""
        return self.log.split()[1] if self.log else ""

    @property
    def log_counts(self) -> bool:
        """Whether the command that logs it says how many."""
        return "--count" in self.log

    def log_of(self, about: str, count: int = 0) -> str:
        """The command that logs it of lots or a bin, and of how many where that is known."""
        command = self.log.replace("{lot}", about)
        return command.replace("--count N", f"--count {count}") if count else command

    @property
    def repeats(self) -> bool:
        return self.every_days is not None

    def check(self) -> None:
        windowed = [self.opens_day, self.due_day, self.closes_day]
        if self.longest_days is not None and (self.kind != "look" or self.longest_days < (self.every_days or 0)):
            raise Miswritten(Fact("longest_days_of_no_look" if self.kind != "look" else "longest_below_every"))
        if self.worked:
            return
        if self.repeats:
            if self.first_day is None or any(day is not None for day in windowed):
                raise Miswritten(Fact("two_ways_of_counting"))
            if self.kind not in ("look", "treat"):
                raise Miswritten(Fact("cannot_repeat"))
        elif self.kind == "look":
            raise Miswritten(Fact("look_without_days"))
        elif None in windowed:
            raise Miswritten(Fact("task_without_days"))
        elif not self.opens_day <= self.due_day <= self.closes_day:  # type: ignore[operator]  # none is None here
            raise Miswritten(Fact("days_not_rising"))


@dataclass(frozen=True, kw_only=True)
class Mat(Table):
    """What mats are set to before anybody has said which crop stands on them."""

    setting: Temperature
    source: str
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Cell(Table):
    """The cell or small pot of a method: what it holds, and the share more that mix needs (`settling`)."""

    volume: Volume
    settling: Annotated[float, Within(ge=0, lt=1)]
    source: str
    note: str = ""

    @property
    def mix_l(self) -> float:
        """Mix to make up for one cell [litres]."""
        return self.volume * (1 + self.settling)


@dataclass(frozen=True, kw_only=True)
class Method(Table):
    """A way of rooting: `rules/methods/<id>.toml`; one on bottom heat has a `mat`, one in bags a `bag`, one in cells a
    `cell`.

    Its cuttings stand in places of the kind `place` until the milestone `ends`, one in each `container`; plants are
    ready to plant or sell at the milestone `ready`.
    """

    id: Id
    title: str
    container: str
    place: Where = "bin"
    ends: str = "potted"
    ready: str = "hardened"
    crops_note: str = ""
    mat: Mat | None = None
    bag: Bag | None = None
    cell: Cell | None = None
    milestone: tuple[MilestoneRule, ...]
    task: tuple[TaskRule, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Care(Table):
    """The care for one matter: `rules/care/<id>.toml`; with a `programme` where days are worked out."""

    id: Id
    title: str
    programme: ProgrammeNumbers | None = None
    milestone: tuple[MilestoneRule, ...] = ()
    task: tuple[TaskRule, ...] = ()


@cache
def care_model(name: str) -> type[Care]:
    """What may stand in the care file of a name: with the numbers of its programme, where one has that name."""
    programme = NUMBERS.get(name)
    if programme is None:
        return Care
    wanted = {"__annotations__": {"programme": programme}, "programme": field(), "__module__": __name__}
    return dataclass(frozen=True, kw_only=True)(type(f"{programme.__name__}Care", (Care,), wanted))


@dataclass(frozen=True, kw_only=True)
class Sources(Table):
    """`rules/sources.toml`."""

    source: Mapping[str, Source]


@dataclass(frozen=True, kw_only=True)
class Cautions(Table):
    """`rules/cautions.toml`; `closing` is said once after whatever cautions an entry names."""

    closing: str
    caution: Mapping[str, Caution]
