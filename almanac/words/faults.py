"""The sentence of each kind of fact: what is wrong with a file, refused or worth telling. Pure.

Each area has a table of its own, from kind to template or function; `SENTENCES` is all of them.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from almanac.faults import Fact, Fault, Stopped, one_line
from almanac.words import frost, log_faults, rules_faults, settings_faults
from almanac.words.sentences import Filler, Sentence

_TABLES: Final[tuple[dict[str, Sentence], ...]] = (
    {"said": "{text}", "several": "{facts:; }"},
    frost.SENTENCES,
    log_faults.SENTENCES,
    rules_faults.SENTENCES,
    settings_faults.SENTENCES,
)
SENTENCES: Final[dict[str, Sentence]] = {kind: sentence for table in _TABLES for kind, sentence in table.items()}


def fact_text(fact: Fact) -> str:
    """A fact as a sentence."""
    sentence = SENTENCES[fact.kind]
    return _FILLER.vformat(sentence, (), fact.values) if isinstance(sentence, str) else sentence(**fact.values)


def refusal_text(refused: Stopped) -> str:
    """Why something cannot go on, as one line."""
    return one_line(fact_text(refused.fact))


def fault_line(fault: Fault) -> str:
    """A fault or notice with its place, as one line: `logbook.csv:41: 'lefs' is not an event`."""
    place = fault.file if fault.line is None else f"{fault.file}:{fault.line}"
    return one_line(": ".join(filter(None, (place, fault.key, fact_text(fault.fact)))))


def fault_lines(faults: Iterable[Fault]) -> list[str]:
    """Faults line by line, in the order of files and lines; those of one place by their text."""
    return [line for *_, line in sorted((each.file, each.line or 0, each.key, fault_line(each)) for each in faults)]


_FILLER: Final = Filler(lambda told: fault_line(told) if isinstance(told, Fault) else fact_text(told))
