"""A rule document as read, with the line of each of its keys: where a fault in it stands."""

from __future__ import annotations

from typing import Any

from almanac.faults import Fact, Fault
from almanac.plain import dataclass
from almanac.rulebook.changes import Change, name_of
from almanac.rulebook.fields import Table
from almanac.rulebook.toml_text import Loc, key_in_words, line_of


@dataclass(kw_only=True)
class Document:
    """One rule document as read: the shipped file, with the nursery's own file of the same name merged over it.

    `file`, `text` and `own` are those of the upper file, `data` is the whole.
    """

    name: str
    model: type[Table]
    file: str
    text: str
    own: dict[str, Any]
    data: dict[str, Any]
    files: tuple[str, ...]
    changes: tuple[Change, ...] = ()

    def line(self, loc: Loc) -> int | None:
        """The line of a key of the whole document in the upper file, where it stands there."""
        if len(loc) > 1 and isinstance(loc[1], int) and self.own is not self.data:
            names = [name_of(item) for item in items_of(self.own, loc[0])]
            name = name_of(items_of(self.data, loc[0])[loc[1]])
            if name not in names:
                return None
            loc = (loc[0], names.index(name), *loc[2:])
        return line_of(self.text, loc)

    def fault(self, loc: Loc, fact: Fact) -> Fault:
        """What is wrong at a key of it."""
        return Fault(file=self.file, fact=fact, line=self.line(loc), key=key_in_words(loc, self.data))


def items_of(document: dict[str, Any], key: int | str) -> list[Any]:
    """The tables in a list of a document; none where it has no such list."""
    found = document.get(str(key))
    return found if isinstance(found, list) else []
