"""The sentence of each kind of fact: what is wrong with a file, refused or worth telling. Pure.

Each area has a table of its own, from kind to template or function; `SENTENCES` is all of them.
"""

from __future__ import annotations

from typing import Final

from almanac.faults import Fact
from almanac.words.sentences import Filler, Sentence

SENTENCES: Final[dict[str, Sentence]] = {"said": "{text}"}


def fact_text(fact: Fact) -> str:
    """A fact as a sentence."""
    sentence = SENTENCES[fact.kind]
    return _FILLER.vformat(sentence, (), fact.values) if isinstance(sentence, str) else sentence(**fact.values)


_FILLER: Final = Filler(fact_text)
