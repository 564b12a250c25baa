"""What each programme came to, in words: a file each, by the name of its rule file in `rules/care`.

Each gives `WORDS`: for each kind of derivation of its programme, how its figures are told.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Generic, TypeVar

from almanac.plain import dataclass
from almanac.plan.derivation import Derivation
from almanac.units import System

_Of = TypeVar("_Of", bound=Derivation)


@dataclass(frozen=True, kw_only=True)
class DerivationWords(Generic[_Of]):
    """The words of one kind of derivation.

    `values` are those that the texts of its tasks may name, with temperatures in both scales, as in rule files; `steps`
    is its arithmetic line by line. `warning` tells what cannot be, of places and lots as they are named.
    """

    of: type[_Of]
    values: Callable[[_Of], Mapping[str, str]] = lambda _: {}
    steps: Callable[[_Of, System], list[str]] = lambda *_: []
    warning: Callable[[_Of, str, str], str] | None = None


AnyWords = tuple[DerivationWords[Any], ...]
