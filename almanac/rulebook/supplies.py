"""What may stand in `rules/supplies.toml`: what a season uses up, and how much of it is used when."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import field
from typing import Annotated, Any, Literal

from almanac import units
from almanac.faults import Fact, Miswritten, as_found, nearest
from almanac.plain import dataclass
from almanac.rulebook.fields import Days, Read, Table, Then, Volume, Within, Written, matching, quantity_schema
from almanac.rulebook.toml_text import Loc

Measure = Literal["count", "volume"]
_WHOLE = 0.001  # how near to 1 shares must come: a third may be written 0.333


def amount(written: object, measure: Measure) -> float:
    """So much of a supply as written: a whole number of pieces, or a volume with its unit [litres].

    Raises:
        Miswritten: it is something else
    """
    if measure == "volume":
        return units.parse(written, "volume")
    if isinstance(written, bool) or not isinstance(written, int):
        raise Miswritten(Fact("not_a_count", given=as_found(written)))
    if written < 0:
        raise Miswritten(Fact("less_than_nothing", given=written))
    return float(written)


def _each(written: object) -> float:
    return amount(written, "volume" if isinstance(written, str) else "count")


Amount = Annotated[float, Read(_each), Written(anyOf=[{"type": "integer", "minimum": 0}, quantity_schema("volume")])]


@dataclass(frozen=True, kw_only=True)
class Supply(Table):
    """What it is, how it is measured, how long before its first use it is ordered."""

    title: str
    measure: Measure
    lead: Days
    cautions: tuple[str, ...] = ()
    source: str
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Use(Table):
    """So much each time, of what is rooted by `methods` alone where any are named."""

    each: Amount
    methods: tuple[str, ...] = ()
    source: str
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class MixShare(Table):
    """The share of a mix by volume."""

    share: Annotated[float, Within(ge=0, le=1)]
    source: str
    note: str = ""


def _a_day_at_least(value: float) -> float:
    if value < 1:
        raise Miswritten(Fact("lasts_too_short"))
    return value


@dataclass(frozen=True, kw_only=True)
class Hung(Table):
    """So many in each bin, renewed when they have hung so long."""

    each: Amount
    lasts: Annotated[Days, Then(_a_day_at_least)]
    source: str
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Drench(Table):
    """So much for a pot or an opened bag and turn; `reserve` is how many turns are kept in hand."""

    each: Volume
    reserve: Annotated[int, Within(ge=0)]
    source: str
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Mixes(Table):
    """The mix of bags, that of cells and that of pots, by the supplies they are made of."""

    bag: Mapping[str, MixShare]
    cell: Mapping[str, MixShare] = field(default_factory=dict)
    pot: Mapping[str, MixShare]


@dataclass(frozen=True, kw_only=True)
class Supplies(Table):
    """The whole of `rules/supplies.toml`."""

    supply: Mapping[Annotated[str, matching(r"[a-z][a-z0-9_]*", "short_name")], Supply]
    mix: Mixes
    stuck: Mapping[str, Use] = field(default_factory=dict)
    potted: Mapping[str, Use] = field(default_factory=dict)
    in_bin: Mapping[str, Hung] = field(default_factory=dict)
    drench: Mapping[str, Drench] = field(default_factory=dict)


def shares(parts: Mapping[str, MixShare]) -> dict[str, float]:
    """The parts of a mix, so that they come to 1 also where thirds are rounded."""
    whole = sum(part.share for part in parts.values())
    return {name: part.share / whole for name, part in parts.items()}


def supplies_wrong(found: Supplies, document: Mapping[str, Any]) -> Iterator[tuple[Loc, Fact]]:
    """What is wrong between the parts of the file, each with the way to it: names, measures, shares."""
    mixes: dict[str, Mapping[str, MixShare]] = {"bag": found.mix.bag, "pot": found.mix.pot}
    mixes |= {"cell": found.mix.cell} if found.mix.cell else {}
    named: list[Loc] = [("mix", mix, name) for mix, parts in mixes.items() for name in parts]
    for use in ("stuck", "potted", "in_bin", "drench"):
        named += [(use, name) for name in document.get(use, {})]
    for loc in named:
        if loc[-1] not in found.supply:
            name = str(loc[-1])
            yield loc, Fact("supply_unsaid", supply=name, near=nearest(name, found.supply))
            continue
        measure = found.supply[str(loc[-1])].measure
        if loc[0] == "mix" and measure != "volume":
            yield loc, Fact("mix_not_by_volume")
        elif loc[0] != "mix":
            try:
                amount(document[str(loc[0])][loc[1]]["each"], measure)
            except Miswritten as error:
                yield (*loc, "each"), error.fact
    for mix, parts in mixes.items():
        whole = sum(part.share for part in parts.values())
        if abs(whole - 1) > _WHOLE:
            told = tuple((name, part.share) for name, part in parts.items())
            yield ("mix", mix), Fact("shares_not_one", whole=whole, shares=told)
