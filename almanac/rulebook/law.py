"""What may stand in `rules/law.toml`: what the law of a place says of a crop's plants and cuttings."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from almanac.faults import Fact, Miswritten
from almanac.plain import dataclass
from almanac.rulebook.fields import Table, Within, between, matching

# None may go, one goes only with a paper whose number the order notes, or papers go with it.
Ruling = Literal["forbidden", "permit", "papers"]
PlaceCode = Annotated[str, matching(r"[A-Z]{2}(-[A-Z0-9]{1,3})?", "place_code")]


@dataclass(frozen=True, kw_only=True)
class Law(Table):
    """What holds of some `crops` (none named: of all) for parcels `to` places from outside, or `within` places.

    `where` names the place as a person does, `paper` what is asked for, `year` the one of the text that was read.
    """

    together = between({"anyOf": [{"required": ["to"]}, {"required": ["within"]}]})
    crops: tuple[str, ...] = ()
    to: tuple[PlaceCode, ...] = ()
    within: tuple[PlaceCode, ...] = ()
    where: str
    ruling: Ruling
    paper: str = "permit"
    text: str
    source: str
    year: Annotated[int, Within(ge=1800, le=2500)] | None = None
    note: str = ""

    def check(self) -> None:
        if not self.to and not self.within:
            raise Miswritten(Fact("law_of_no_place"))

    def concerns(self, crop: str) -> bool:
        """Whether it holds for a crop."""
        return not self.crops or crop in self.crops

    def holds(self, sender: frozenset[str], receiver: frozenset[str]) -> bool:
        """Whether it holds for a parcel, by the codes of the places that it leaves and that it comes to."""
        within = not (sender | receiver).isdisjoint(self.within)
        return within or bool((receiver - sender).intersection(self.to))


@dataclass(frozen=True, kw_only=True)
class Laws(Table):
    """The whole of `rules/law.toml`."""

    law: Mapping[Annotated[str, matching(r"[a-z][a-z0-9_]*", "short_name")], Law]
