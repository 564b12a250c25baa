"""What a refusal says, the sentences of its facts, and what `--json` prints, for tests that look at them."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

import pytest

from almanac.faults import Stopped, Unusable
from almanac.site.frost import FrostTable
from almanac.terminal.encoded import encoded
from almanac.words.faults import fact_text


def as_json(data: dict[str, Any]) -> Any:
    """What is read of the object that `--json` prints of it."""
    return json.loads(json.dumps(data, default=encoded))


@dataclass
class Said:
    """The sentences, known once the block has ended."""

    texts: list[str] = field(default_factory=list)

    @property
    def text(self) -> str:
        return "; ".join(self.texts)


@contextmanager
def refused(kind: type[Stopped] | type[Unusable], match: str = "") -> Iterator[Said]:
    """Expect a block to be refused, with words that match."""
    said = Said()
    with pytest.raises(kind) as caught:
        yield said
    why = caught.value
    assert isinstance(why, Stopped | Unusable)
    facts = why.facts if isinstance(why, Unusable) else (why.fact,)
    said.texts = [fact_text(fact) for fact in facts]
    assert re.search(match, said.text), said.text


def noted(table: FrostTable) -> list[str]:
    """What a frost table's notes say."""
    return [fact_text(note) for note in table.notes]
