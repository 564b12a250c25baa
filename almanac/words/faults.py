"""The sentence of each kind of fact: what is wrong with a file, refused or worth telling. Pure.

Each area has a table of its own, from kind to template or function; `SENTENCES` is all of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from almanac.faults import Fact, Fault
from almanac.units import System
from almanac.words import frost, law, log_faults, notices, refusals, refused_entries, rules_faults, settings_faults
from almanac.words.refusals import IN_SHORT
from almanac.words.refused_entries import ON_THE_PAGE
from almanac.words.sentences import Filler, Sentence, one_line

TABLES: Final[tuple[dict[str, Sentence], ...]] = (
    {"several": "{facts:; }"},
    frost.SENTENCES,
    log_faults.SENTENCES,
    rules_faults.SENTENCES,
    settings_faults.SENTENCES,
    refusals.SENTENCES,
    refused_entries.SENTENCES,
    notices.SENTENCES,
    law.SENTENCES,
)
SENTENCES: Final[dict[str, Sentence]] = {kind: sentence for table in TABLES for kind, sentence in table.items()}


def fact_text(fact: Fact) -> str:
    return _filled(SENTENCES[fact.kind], fact, _FILLER)


def note_text(note: Fact, system: System) -> str:
    """What is to know of a frost table, in the units of the nursery."""
    own = frost.IN_OWN_UNITS.get(note.kind)
    return own(**note.values, system=system) if own else fact_text(note)


def told(trouble: Fault | Fact) -> str:
    """A fault of a file or a fact as one line."""
    return fault_line(trouble) if isinstance(trouble, Fault) else one_line(fact_text(trouble))


def told_all(troubles: Sequence[Fault | Fact]) -> list[str]:
    """Faults of files and facts, a line each."""
    lines = fault_lines(each for each in troubles if isinstance(each, Fault))
    return [*lines, *(told(each) for each in troubles if isinstance(each, Fact))]


def in_short(trouble: Fault | Fact) -> str:
    """What is to be mended, short enough for an entry's title: `logbook.csv:41`; empty if it is no place."""
    if isinstance(trouble, Fault):
        return _place(trouble)
    return _filled(IN_SHORT[trouble.kind], trouble, _FILLER) if trouble.kind in IN_SHORT else ""


def page_text(trouble: Fault | Fact) -> str:
    """The same in the words of the page, where it has its own."""
    if isinstance(trouble, Fault):
        return one_line(": ".join(filter(None, (_place(trouble), trouble.key, page_text(trouble.fact)))))
    return _filled(ON_THE_PAGE.get(trouble.kind) or SENTENCES[trouble.kind], trouble, _ON_THE_PAGE)


def page_lines(troubles: Sequence[Fault | Fact]) -> list[str]:
    """Faults of files in the order of files and lines, then facts, a line each, in the words of the page."""
    faults = [(each.file, each.line or 0, page_text(each)) for each in troubles if isinstance(each, Fault)]
    return [*(line for *_, line in sorted(faults)), *(page_text(each) for each in troubles if isinstance(each, Fact))]


def _filled(sentence: Sentence, fact: Fact, filler: Filler) -> str:
    return filler.vformat(sentence, (), fact.values) if isinstance(sentence, str) else sentence(**fact.values)


def fault_line(fault: Fault) -> str:
    """A fault or notice with its place, as one line: `logbook.csv:41: 'lefs' is not an event`."""
    return one_line(": ".join(filter(None, (_place(fault), fault.key, fact_text(fault.fact)))))


def fault_lines(faults: Iterable[Fault]) -> list[str]:
    """Faults line by line, in the order of files and lines; those of one place by their text."""
    return [line for *_, line in sorted((each.file, each.line or 0, each.key, fault_line(each)) for each in faults)]


def _place(fault: Fault) -> str:
    return fault.file if fault.line is None else f"{fault.file}:{fault.line}"


_FILLER: Final = Filler(lambda each: fault_line(each) if isinstance(each, Fault) else fact_text(each))
_ON_THE_PAGE: Final = Filler(page_text)
