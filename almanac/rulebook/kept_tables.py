"""Rules and settings that were checked, as text that is kept from run to run (`kept`), and back.

It is JSON that says of each value what it is: to build tables from it needs neither their types nor their checks, and
runs nothing that stands in the file.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import fields
from datetime import date, datetime, time
from types import MappingProxyType
from typing import Any, TypeVar, cast

from almanac.kept import Kept, kept
from almanac.rulebook.book import Rulebook
from almanac.rulebook.changes import Change
from almanac.rulebook.fields import Table
from almanac.rulebook.models import care_model
from almanac.rulebook.programmes import NUMBERS

# The sources that say what comes of a file, and the data they look things up in.
_SETTINGS = ("settings.py", "settings_frost.py", "settings_places.py", "settings_site.py")
READERS = ("rulebook", "site", *(f"nursery/{name}" for name in _SETTINGS), "units.py", "faults.py", "plain.py")
_Of = TypeVar("_Of")


def place_of(what: str, files: Iterable[tuple[str, bytes]]) -> Kept:
    """The place of what comes of rule files, or of settings; as `kept`."""
    return kept(what, files, sources=READERS, library="pydantic")


def found(place: Kept, kind: type[_Of]) -> _Of | None:
    """What was kept there, if it is whole and of that kind."""
    made = place.found(from_json)
    return made if isinstance(made, kind) else None


def keep(place: Kept, value: object) -> None:
    """Keep it there, if that can be done."""
    place.keep(value, to_json)


def to_json(value: object) -> bytes:
    """A rulebook or a table with all that it holds: a list says first what it is, an object is a sealed mapping.

    Raises:
        TypeError: it holds what cannot be kept
    """
    tables: dict[str, tuple[int, list[str]]] = {}

    def told(value: Any) -> Any:
        if isinstance(value, Table | Rulebook | Change):
            names = [field.name for field in fields(cast(Any, value))]
            number, _ = tables.setdefault(_name(type(value)), (len(tables), names))
            return [number, *(told(getattr(value, name)) for name in names)]
        if isinstance(value, Mapping):
            if not all(type(key) is str for key in value):
                raise TypeError(value)
            held = {key: told(each) for key, each in value.items()}
            return held if isinstance(value, MappingProxyType) else ["dict", held]
        if type(value) in (tuple, list):
            return [type(value).__name__, *map(told, value)]
        if type(value) in (date, datetime, time):
            return [type(value).__name__, value.isoformat()]
        if value is not None and type(value) not in (str, int, float, bool):
            raise TypeError(value)
        return value

    made = told(value)
    return json.dumps([made, [[name, *names] for name, (_, names) in tables.items()]], separators=(",", ":")).encode()


def from_json(text: bytes) -> Any:
    """What `to_json` was given.

    Raises:
        ValueError, LookupError, TypeError: it is nothing of the kind
    """
    value, tables = json.loads(text)
    known = _known()
    classes = [(known[name], names) for name, *names in tables]

    def made(value: Any) -> Any:
        if type(value) is dict:
            return MappingProxyType({key: made(each) if type(each) in _HOLDS else each for key, each in value.items()})
        kind = value.pop(0)
        held = [made(each) if type(each) in _HOLDS else each for each in value]
        if type(kind) is int:
            table, names = classes[kind]
            found = object.__new__(table)
            found.__dict__.update(zip(names, held, strict=True))
            return found
        return _MADE[kind](held)

    return made(value)


_HOLDS = (list, dict)
_MADE: Mapping[str, Callable[[list[Any]], object]] = {
    "dict": lambda held: dict(held[0]),
    "list": list,
    "tuple": tuple,
    "date": lambda held: date.fromisoformat(held[0]),
    "datetime": lambda held: datetime.fromisoformat(held[0]),
    "time": lambda held: time.fromisoformat(held[0]),
}


def _name(kind: type) -> str:
    return f"{kind.__module__}.{kind.__qualname__}"


def _known() -> dict[str, Any]:
    """Every class that may be kept, by its name."""
    for name in NUMBERS:
        care_model(name)  # its class is made when first asked for
    every: list[type] = [Table]
    for kind in every:
        every += kind.__subclasses__()
    return {_name(kind): kind for kind in (Rulebook, Change, *every)}
