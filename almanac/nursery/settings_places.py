"""What may stand in [[bin]], [[place]] and [[shelter]] of `nursery.toml`: where cuttings root, where pots winter."""

from __future__ import annotations

import re
from datetime import time
from typing import Annotated, Literal

from almanac import units
from almanac.faults import Fact, Miswritten, as_found
from almanac.plain import dataclass
from almanac.rulebook.fields import Read, Table, Within, Written, between, matching, quantity_schema
from almanac.rulebook.models import Where

_MOST_PPFD = 3000  # the sun at noon gives some 2,000 µmol m⁻² s⁻¹, no lamp over cuttings half as much again
LAMP_ON = time(6)  # a lamp goes on then, where its bin does not say otherwise


def _clock(written: object) -> object:
    match = re.fullmatch(r"([01]?\d|2[0-3]):([0-5]\d)", written) if isinstance(written, str) else None
    if not match:
        raise Miswritten(Fact("not_a_time", given=as_found(written)))
    return time(int(match[1]), int(match[2]))


_CLOCK = Written(type="string", pattern=r"^([01]?[0-9]|2[0-3]):[0-5][0-9]$", examples=["18:30"])
ClockTime = Annotated[time, Read(_clock), _CLOCK]


@dataclass(frozen=True, kw_only=True)
class BinLight(Table):
    """light of a bin: photons of the lamp at the leaves [µmol m⁻² s⁻¹], the most hours a day it may burn, from when on

    `share` of the outdoor light reaches the leaves too, unless the bin is closed.
    """

    together = between(
        {
            "if": {"properties": {"where": {"enum": ["window", "greenhouse"]}}, "required": ["where"]},
            "then": {"required": ["share"]},
            "else": {"properties": {"share": False}},
        }
    )
    ppfd: Annotated[float, Within(gt=0, le=_MOST_PPFD)]
    hours: Annotated[float, Within(gt=0, le=24)]
    where: Literal["closed", "window", "greenhouse"] = "closed"
    share: Annotated[float, Within(gt=0, le=1)] | None = None
    on: ClockTime = LAMP_ON

    def check(self) -> None:
        if self.where == "closed" and self.share is not None:
            raise Miswritten(Fact("share_in_the_dark"))
        if self.where != "closed" and self.share is None:
            raise Miswritten(Fact("no_share_of_light", where=self.where))


BinWarmth = Annotated[float, Read(units.parse_warmth), Written(**quantity_schema("temperature"))]
BinName = Annotated[str, matching(r"[A-Za-z][A-Za-z0-9_-]{0,19}", "bin_name")]


@dataclass(frozen=True, kw_only=True)
class Bin(Table):
    """[[bin]]"""

    name: BinName
    bags: Annotated[int, Within(ge=1)] = 24
    mat: BinWarmth
    air: BinWarmth
    light: BinLight | None = None

    @property
    def kind(self) -> Where:
        """What cuttings in it root in."""
        return "bin"

    @property
    def title(self) -> str:
        """What it is called: `Bin A`, `Tray T`, `Bed L`."""
        return f"{self.kind.capitalize()} {self.name}"

    @property
    def heated(self) -> bool:
        """Whether its base has a warmth of its own."""
        return True


@dataclass(frozen=True, kw_only=True)
class Stand(Bin):
    """A [[place]] as those who place lots know it: a bin of its kind; of a bed the site says how warm it is."""

    of_kind: Where
    on_mat: bool

    @property
    def kind(self) -> Where:
        return self.of_kind

    @property
    def heated(self) -> bool:
        return self.on_mat


@dataclass(frozen=True, kw_only=True)
class GrowingPlace(Table):
    """[[place]]: a bin, a tray or a bed, and how many bags, cells or sticks it holds.

    Where there is no `mat` the base has the warmth of the `air`; a bed has neither, as it lies outdoors.
    """

    name: BinName
    kind: Where
    holds: Annotated[int, Within(ge=1)]
    mat: BinWarmth | None = None
    air: BinWarmth | None = None
    light: BinLight | None = None

    def check(self) -> None:
        given = {"mat": self.mat, "air": self.air, "light": self.light}
        of_bed = [name for name, value in given.items() if value is not None] if self.kind == "bed" else []
        if of_bed:
            raise Miswritten(Fact("bed_with_warmth", key=of_bed[0]))
        if self.kind != "bed" and self.air is None:
            raise Miswritten(Fact("place_without_air", kind=self.kind))

    def stand(self) -> Stand:
        """As a bin of its kind."""
        air = OUTDOORS_C if self.air is None else self.air
        mat = air if self.mat is None else self.mat
        return Stand(
            name=self.name,
            bags=self.holds,
            mat=mat,
            air=air,
            light=self.light,
            of_kind=self.kind,
            on_mat=self.mat is not None,
        )


OUTDOORS_C = 10.0  # stands for the warmth of a bed until its site is known


@dataclass(frozen=True, kw_only=True)
class Shelter(Table):
    """[[shelter]]: where pots spend the winter, and how many it holds; a frame or house with light is not `dark`"""

    name: BinName
    pots: Annotated[int, Within(ge=0)] | None = None
    dark: bool = True
