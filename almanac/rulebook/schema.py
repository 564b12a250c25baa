"""From the tables of files to JSON schemas, by which an editor completes and checks a file while it is written. Pure.

Instead of schemas kept by hand: these say what the tables say, and cannot fall behind them. Draft 7, since that is what
editors of TOML know. A schema tells the form of a quantity, not its range, and no more of a rule between two keys than
the tables give it beside the rule (`between` in `fields`).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date
from inspect import cleandoc
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from almanac.rulebook.fields import (
    Declared,
    Filled,
    Form,
    Quantity,
    Table,
    Unsaid,
    Within,
    Written,
    as_data,
    declared,
    quantity_schema,
)
from almanac.rulebook.load import FOLDERS, SINGLES
from almanac.rulebook.models import care_model
from almanac.rulebook.programmes import NUMBERS

_DRAFT = "http://json-schema.org/draft-07/schema#"
_KINDS = {"crops": "crop", "methods": "method", "care": "care"}
_NAMES = {"task": "id", "milestone": "name"}  # by which an item of an own file meets one of the shipped file
_KNOWN = "of_{}"  # the names for a key
FOLDER = "schema"  # of a nursery, where its files look for theirs
NURSERY = "nursery.json"


Names = Mapping[str, Collection[str]]  # what may be named under a key of a rule file
_NONE: Names = {}


def schema_of(table: type[Table], *, changes: bool = False, names: Names = _NONE) -> dict[str, Any]:
    """What may stand in a file, as a JSON schema.

    Args:
        table: what the file is read as
        changes: of a file that says only what is other than in a shipped one: nothing is missing there
        names: by key what is known there, to be offered; another name is no fault, as it may have come since
    """
    found = _of_table(table, changes)
    inner: dict[str, type[Table]] = {}
    _collect(table, inner)
    definitions = {name: _of_table(each, changes) for name, each in sorted(inner.items())}
    for each in (found, *definitions.values()):
        _offer(each["properties"], names)
    definitions |= {_KNOWN.format(key): _known(known) for key, known in names.items()}
    if changes:
        for key, name in _NAMES.items():
            if key in found["properties"]:
                items = found["properties"][key]["items"]
                found["properties"][key]["items"] = {"allOf": [items], "required": [name]}
    return {"$schema": _DRAFT, **found, "definitions": definitions}


def rule_schema(folder: str, stem: str, *, shipped: bool, names: Names = _NONE) -> tuple[str, dict[str, Any]]:
    """The schema of a rule file and the name of the file it goes into, as `crop.json`.

    Args:
        folder: the one it lies in, such as `crops`; empty for `sources` and its like
        stem: its name
        shipped: whether there is a shipped file of that name, which an own one changes
        names: as for `schema_of`
    """
    table, kind = (FOLDERS[folder], _KINDS[folder]) if folder else (SINGLES[stem], stem)
    if folder == "care" and stem in NUMBERS:
        table, kind = care_model(stem), f"{kind}-{stem}"
    return f"{kind}-changes.json" if shipped and folder else f"{kind}.json", schema_of(
        table, changes=shipped, names=names
    )


def rule_schemas(names: Names = _NONE) -> dict[str, dict[str, Any]]:
    """Every schema of rule files by the name of its file: of whole ones, and of those that change a shipped one."""
    found = [rule_schema("", stem, shipped=True, names=names) for stem in SINGLES]
    found += [rule_schema(folder, "", shipped=shipped, names=names) for folder in FOLDERS for shipped in (False, True)]
    found += [rule_schema("care", stem, shipped=True, names=names) for stem in NUMBERS]
    return dict(found)


def named_in(folder: str, stem: str, *, shipped: bool) -> str:
    """The line by which a nursery's own rule file names its schema to editors."""
    up = "../../" if folder else "../"
    return f"#:schema {up}{FOLDER}/{rule_schema(folder, stem, shipped=shipped)[0]}"


def _offer(properties: dict[str, Any], names: Names) -> None:
    """Have an editor offer the names that are known, where one may stand."""
    for key in properties.keys() & names.keys():
        value = properties[key]
        place = value["items"] if value.get("type") == "array" else value
        if place.get("type") == "string":
            place.clear()
            place["$ref"] = f"#/definitions/{_KNOWN.format(key)}"


def _known(names: Collection[str]) -> dict[str, Any]:
    return {"anyOf": [{"enum": sorted(names)}, {"type": "string"}]}


def _collect(table: type[Table], found: dict[str, type[Table]]) -> None:
    """The tables within a table, by name."""
    waiting = [each.type for each in declared(table).values()]
    while waiting:
        kind = waiting.pop()
        if isinstance(kind, type) and issubclass(kind, Table) and kind.__name__ not in found:
            found[kind.__name__] = kind
            _collect(kind, found)
        waiting += get_args(kind) if get_origin(kind) is not Literal else ()


def _of_table(table: type[Table], changes: bool) -> dict[str, Any]:
    fields = declared(table).values()
    told: dict[str, Any] = {"additionalProperties": False, "title": table.__name__, "type": "object"}
    told |= {"description": cleandoc(table.__doc__)} if table.__doc__ else {}
    told |= {"properties": {each.key: _of_field(each) for each in fields}}
    required = [each.key for each in fields if each.wanted]
    told |= ({"required": required} if required else {}) | dict(table.together)
    if changes:  # nothing is missing there, and what holds between keys may hold with those of the shipped file
        told.pop("required", None)
        told.pop("allOf", None)
    found: dict[str, Any] = _sorted(told)
    return found


def _of_field(field: Declared) -> dict[str, Any]:
    default = next((mark.value for mark in field.marks if isinstance(mark, Unsaid)), as_data(field.default))
    told = {} if field.wanted or default in (None, {}, [], "") else {"default": default}
    return _of_type(field.type) | told


_PLAIN: Mapping[Any, dict[str, Any]] = {
    str: {"type": "string"},
    int: {"type": "integer"},
    float: {"type": "number"},
    bool: {"type": "boolean"},
    date: {"format": "date", "type": "string"},
    Any: {},
}
_BOUNDS = {"gt": "exclusiveMinimum", "ge": "minimum", "lt": "exclusiveMaximum", "le": "maximum"}


def _of_type(kind: Any) -> dict[str, Any]:
    origin, inner = get_origin(kind), get_args(kind)
    if origin is Annotated:
        return _marked(inner[0], inner[1:])
    if origin in (Union, UnionType):
        one, *more = (_of_type(each) for each in inner if each is not type(None))
        return {"anyOf": [one, *more]} if more else one
    if origin is Literal:
        return {"type": "string"} | ({"enum": list(inner)} if len(inner) > 1 else {"const": inner[0]})
    if origin is tuple:
        return {"items": _of_type(inner[0]), "type": "array"}
    if origin is not None:
        name, value = (_of_type(each) for each in inner)
        if "pattern" in name:
            return {"patternProperties": {name["pattern"]: value}, "type": "object"}
        return {"additionalProperties": value, "type": "object"}
    if isinstance(kind, type) and issubclass(kind, Table):
        return {"$ref": f"#/definitions/{kind.__name__}"}
    return dict(_PLAIN[kind])


def _marked(kind: Any, marks: Sequence[Any]) -> dict[str, Any]:
    written = next((mark.schema for mark in marks if isinstance(mark, Written)), None)
    quantity = next((mark.kind for mark in marks if isinstance(mark, Quantity)), "")
    if written is not None or quantity:
        return dict(written) if written is not None else quantity_schema(quantity)
    told = _of_type(kind)
    for mark in marks:
        if isinstance(mark, Form):
            told["pattern"] = f"^({mark.pattern})$"
        if isinstance(mark, Filled):
            told["minItems"] = 1
        if isinstance(mark, Within):
            told |= {key: bound for name, key in _BOUNDS.items() if (bound := getattr(mark, name)) is not None}
    return told


def _sorted(told: Any, under: str = "") -> Any:
    """With keys in the order of the alphabet, but for those of a file, which stand as they are declared."""
    if isinstance(told, dict):
        keys = told if under in ("properties", "default") else sorted(told)
        others = {"additionalProperties": False} if "patternProperties" in told else {}
        return {key: _sorted(told[key], key) for key in keys} | others
    return [_sorted(each, under) for each in told] if isinstance(told, list) else told
