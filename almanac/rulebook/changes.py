"""What a rule file changes of the one it is laid over, value by value; and whose number a changed one is then. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from almanac.plain import dataclass

Path = tuple[str, ...]
OWN = "own"  # the source of a number that a nursery changed without naming one
_CITES = ("source", "note", "taking_source")
_QUANTITY = re.compile(r"\s*[+-]?[0-9]+([.,][0-9]+)?\s*°?\s*[A-Za-z ]{0,6}")


@dataclass(frozen=True, kw_only=True)
class Change:
    """One value that a file changes or adds.

    `key` is the way to it, items of a list by their own name, empty for the whole of a new document; `before` and
    `after` are as the files have them, of what is new as a whole None and its name.
    """

    file: str
    document: str
    key: Path
    before: object
    after: object

    @property
    def cites(self) -> bool:
        """Whether it is no value but where one comes from."""
        return bool(self.key) and self.key[-1] in _CITES


def named(value: object) -> bool:
    """Whether it is a list of tables with names."""
    return isinstance(value, list) and all(name_of(item) for item in value)


def name_of(item: object) -> str:
    """The name of a list's item, by which an upper file's meets a lower one's; empty where it has none."""
    name = (item.get("id") or item.get("name")) if isinstance(item, dict) else None
    return name if isinstance(name, str) else ""


def merged(below: dict[str, Any], above: dict[str, Any]) -> dict[str, Any]:
    """Key by key, the upper over the lower; lists of named tables item by item."""
    out = dict(below)
    for key, value in above.items():
        old = out.get(key)
        if isinstance(old, dict) and isinstance(value, dict):
            out[key] = merged(old, value)
        elif isinstance(old, list) and named(old) and named(value):
            items = {name_of(item): item for item in old}
            for item in value:
                items[name_of(item)] = merged(items.get(name_of(item), {}), item)
            out[key] = list(items.values())
        else:
            out[key] = value
    return out


def with_own_source(below: dict[str, Any], above: dict[str, Any]) -> dict[str, Any]:
    """The upper document, with `own` as the source of each table of which it changes a number and names no source."""
    out = {key: _sourced(below.get(key), value) for key, value in above.items()}
    if "source" in below and "source" not in above and _changes_number(below, above):
        out["source"] = OWN
        if "note" in below and "note" not in above:
            out["note"] = ""  # what is said of the shipped number is not said of this one
    return out


def _sourced(old: object, new: object) -> object:
    if isinstance(old, dict) and isinstance(new, dict):
        return with_own_source(old, new)
    if isinstance(old, list) and isinstance(new, list) and named(old) and named(new):
        items = {name_of(item): item for item in old}
        return [with_own_source(items.get(name_of(item), {}), item) for item in new]
    return new


def _changes_number(below: dict[str, Any], above: dict[str, Any]) -> bool:
    """Whether a number changes that has no nearer source."""
    for key, value in above.items():
        old = below.get(key)
        if isinstance(value, dict):
            inner = old if isinstance(old, dict) else {}
            if "source" not in inner | value and _changes_number(inner, value):
                return True
        elif value != old and _is_number(value):
            return True
    return False


def _is_number(value: object) -> bool:
    if isinstance(value, str):
        return bool(_QUANTITY.fullmatch(value))
    return isinstance(value, int | float) and not isinstance(value, bool)


def changes(file: str, document: str, below: dict[str, Any] | None, above: dict[str, Any]) -> Iterator[Change]:
    """What a file says otherwise than the document it is laid over.

    Args:
        file: the name to show
        document: which one, as `crops/fig`
        below: what is there; None for nothing
        above: what the file says
    """
    found = _differing(below, above, ()) if below is not None else [((), None, above.get("id"))]
    for key, before, after in found:
        yield Change(file=file, document=document, key=key, before=before, after=after)


def _differing(below: Any, above: Any, key: Path) -> Iterator[tuple[Path, object, object]]:
    if isinstance(above, dict) and isinstance(below, dict):
        for name, value in above.items():
            yield from _differing(below.get(name), value, (*key, name))
    elif named(above) and above and isinstance(below or [], list):
        items = {name_of(item): item for item in below or []}
        for item in above:
            yield from _differing(items.get(name_of(item)), item, (*key, name_of(item)))
    elif below is None and isinstance(above, dict):
        yield key, None, key[-1]
    elif below != above:
        yield key, below, above
