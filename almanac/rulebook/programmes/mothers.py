"""Mother plants: from when on they give wood."""

from __future__ import annotations

from almanac.plain import dataclass
from almanac.rulebook.fields import Days
from almanac.rulebook.programme_numbers import ProgrammeNumbers


@dataclass(frozen=True, kw_only=True)
class Mothers(ProgrammeNumbers):
    """The plants that wood is cut from. A plant kept as one gives wood from `first_wood` after that on."""

    tasks = frozenset({"mother_prune", "mother_winter"})
    values = frozenset({"plants"})
    first_wood: Days
