"""What the numbers of every programme have in common."""

from __future__ import annotations

from typing import ClassVar

from almanac.plain import dataclass
from almanac.rulebook.fields import Table


@dataclass(frozen=True, kw_only=True)
class ProgrammeNumbers(Table):
    """What every programme has: `tasks` whose days it works out, and the `values` that their texts may name."""

    tasks: ClassVar[frozenset[str]] = frozenset()
    values: ClassVar[frozenset[str]] = frozenset()
    source: str
    note: str = ""
