"""What the tables of rule files and nursery files are declared with: quantities, bounds, forms, what is told of them.

A table is a plain frozen dataclass; what its values must be like stands beside their types, as marks in `Annotated`.
`checked` has a library of models check a document by them, `schema` tells an editor of them. Who only reads tables that
were checked needs no library.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable, Mapping
from dataclasses import MISSING, fields
from datetime import date, time
from functools import cache
from typing import Annotated, Any, ClassVar, Literal, cast, get_args, get_origin, get_type_hints

from almanac import units
from almanac.faults import Fact, Miswritten
from almanac.plain import dataclass


class Table:
    """A TOML table: an unknown key is a fault, values are never guessed into another type.

    `together` is what an editor is told of its keys together (`between`); what is checked is what `check` says.
    """

    together: ClassVar[Mapping[str, Any]] = {}

    @classmethod
    def taken(cls, written: dict[str, Any]) -> dict[str, Any]:
        """What is read instead of what is written, where one value tells another.

        Raises:
            Miswritten: it tells none
        """
        return written

    def check(self) -> None:
        """What must hold between its values, each of which is sound.

        Raises:
            Miswritten: something does not
        """


@dataclass(frozen=True)
class Read:
    """Marks a value that is read from another form than it is kept in."""

    by: Callable[[object], object]


@dataclass(frozen=True)
class Then:
    """Marks a value that a function holds to more than its type, and gives back."""

    by: Callable[[Any], object]


@dataclass(frozen=True, kw_only=True)
class Form:
    """Marks a text of a form: its pattern, and the name it goes by in a fault."""

    pattern: str
    form: str

    def held(self, written: str) -> str:
        """The text. Raises Miswritten."""
        if not re.fullmatch(self.pattern, written):
            raise Miswritten(Fact("other_form", given=written, form=self.form))
        return written


def matching(pattern: str, form: Literal["short_name", "bin_name", "log", "years", "address", "place_code"]) -> Form:
    """Holds a text to a form, by the name it goes by in a fault."""
    return Form(pattern=pattern, form=form)


@dataclass(frozen=True, kw_only=True)
class Within:
    """Marks a number with bounds: over `gt`, at least `ge`, under `lt`, at most `le`."""

    gt: float | None = None
    ge: float | None = None
    lt: float | None = None
    le: float | None = None


@dataclass(frozen=True)
class Key:
    """Marks a value whose key in the file is no name in Python."""

    name: str


@dataclass(frozen=True)
class Filled:
    """Marks a list that may not be empty."""


@dataclass(frozen=True)
class EvenLeftOut:
    """Marks a value that is checked also where the file does not say it."""


@dataclass(frozen=True)
class Unsaid:
    """Marks a value of which it matters whether it was said: what it is taken for else, as an editor is told."""

    value: float


@dataclass(frozen=True)
class Quantity:
    """Marks a number written with its unit: its kind, as in `units`."""

    kind: str


class Written:
    """Marks a value that is read from another form than it is kept in: that form, as an editor is told."""

    def __init__(self, **schema: Any) -> None:
        self.schema = schema


def quantity_schema(*kinds: str) -> dict[str, Any]:
    """How quantities are written, as an editor is told; the range is left to `units`."""
    patterns = [units.pattern(kind) for kind in kinds]
    return {
        "type": "string",
        "pattern": patterns[0] if len(patterns) == 1 else "|".join(f"({each})" for each in patterns),
        "examples": [each for kind in kinds for each in units.examples(kind)],
    }


Temperature = Annotated[float, Quantity("temperature")]
TemperatureDifference = Annotated[float, Quantity("temperature difference")]
Length = Annotated[float, Quantity("length")]
Volume = Annotated[float, Quantity("volume")]
Days = Annotated[float, Quantity("days")]
Hours = Annotated[float, Quantity("hours")]


def between(*rules: Mapping[str, Any], required: tuple[str, ...] | None = None) -> Mapping[str, Any]:
    """What an editor is told of a table's keys together.

    Args:
        rules: each a JSON schema of the table
        required: the keys that may not be missing, where they are not those without a default
    """
    told: dict[str, Any] = {"allOf": [dict(rule) for rule in rules]}
    return told if required is None else told | {"required": list(required)}


@dataclass(frozen=True, kw_only=True)
class Declared:
    """A value of a table as its class declares it: its key, its type, and what it is where a file says nothing."""

    key: str
    type: Any
    wanted: bool
    default: Any

    @property
    def marks(self) -> tuple[Any, ...]:
        """What stands beside the type, also where the value may be left out."""
        return (*getattr(self.type, "__metadata__", ()), *(m for each in get_args(self.type) for m in _marks(each)))

    @property
    def quantity(self) -> str:
        """The kind of quantity that it holds; empty where it holds none."""
        return next((mark.kind for mark in self.marks if isinstance(mark, Quantity)), "")


def _marks(type_: Any) -> tuple[Any, ...]:
    return getattr(type_, "__metadata__", ())


def declared(table: type[Table]) -> Mapping[str, Declared]:
    """The values of a table by the name of their field, in their order."""
    return _declared(cast(Hashable, table))


@cache
def _declared(table: Any) -> Mapping[str, Declared]:
    types = get_type_hints(table, include_extras=True)
    found = {}
    for field in fields(table):
        default = field.default_factory() if field.default_factory is not MISSING else field.default
        marks = _marks(types[field.name])
        key = next((mark.name for mark in marks if isinstance(mark, Key)), field.name)
        found[field.name] = Declared(key=key, type=types[field.name], wanted=default is MISSING, default=default)
    return found


def bare(type_: Any) -> Any:
    """A type without the marks beside it."""
    return get_args(type_)[0] if get_origin(type_) is Annotated else type_


def table_within(type_: Any) -> type[Table] | None:
    """The table that a type holds, in a list or by names or alone."""
    if isinstance(type_, type) and issubclass(type_, Table):
        return type_
    return next((found for inner in get_args(type_) if (found := table_within(inner))), None)


def as_data(value: Any, *, said: bool = False) -> Any:
    """A table's value as JSON holds it; with `said` without what is as where a file says nothing."""
    if isinstance(value, Table):
        fields = [(name, getattr(value, name), each.default) for name, each in declared(type(value)).items()]
        return {name: as_data(it, said=said) for name, it, default in fields if not (said and it == default)}
    if isinstance(value, Mapping):
        return {name: as_data(each, said=said) for name, each in value.items()}
    if isinstance(value, tuple):
        return [as_data(each, said=said) for each in value]
    return value.isoformat() if isinstance(value, date | time) else value
