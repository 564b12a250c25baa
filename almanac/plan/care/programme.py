"""What a programme is: care whose days are worked out (a generation, a dose of light) instead of counted."""

from __future__ import annotations

from collections.abc import Callable

from almanac.plain import dataclass
from almanac.plan.care.proposal import Proposal
from almanac.plan.context.day import Context
from almanac.plan.derivation import Derivation
from almanac.rulebook.programme_numbers import ProgrammeNumbers


@dataclass(frozen=True, kw_only=True)
class Programme:
    """One programme, found by the name of its file.

    Its `numbers` are those of the care file of that name; `reads` are the numbers of others that its days hang on as
    well. `propose` says what it asks for on a day, with the figures behind that: one of its `derivations`, each of
    which has its words in `words.programmes`. Where several ask something of a lot on one day, its lines stand after
    those of the programme that it `follows`.
    """

    numbers: type[ProgrammeNumbers]
    propose: Callable[[Context], Proposal]
    derivations: tuple[type[Derivation], ...]
    reads: tuple[type[ProgrammeNumbers], ...] = ()
    follows: str = ""
