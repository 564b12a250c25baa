"""From the models of files to JSON schemas, by which an editor completes and checks a file while it is written. Pure.

Instead of schemas kept by hand: these say what the models say, and cannot fall behind them. Draft 7, since that is what
editors of TOML know. A schema tells the form of a quantity, not its range, and no more of a rule between two keys than
the models give it beside the rule (`between` in `fields`).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from pydantic import BaseModel

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


def schema_of(model: type[BaseModel], *, changes: bool = False, names: Names = _NONE) -> dict[str, Any]:
    """What may stand in a file, as a JSON schema.

    Args:
        model: what the file is read as
        changes: of a file that says only what is other than in a shipped one: nothing is missing there
        names: by key what is known there, to be offered; another name is no fault, as it may have come since
    """
    found = model.model_json_schema(by_alias=True, ref_template="#/definitions/{model}")
    found["definitions"] = found.pop("$defs", {})
    for name, table in ((model.__name__, found), *found["definitions"].items()):
        _tidy(table, changes=changes)
        _offer(table.get("properties", {}), names)
        table.setdefault("title", name)
    found["definitions"] |= {_KNOWN.format(key): _known(known) for key, known in names.items()}
    if changes:
        for key, name in _NAMES.items():
            if key in found["properties"]:
                items = found["properties"][key]["items"]
                found["properties"][key]["items"] = {"allOf": [items], "required": [name]}
    return {"$schema": _DRAFT, **found}


def rule_schema(folder: str, stem: str, *, shipped: bool, names: Names = _NONE) -> tuple[str, dict[str, Any]]:
    """The schema of a rule file and the name of the file it goes into, as `crop.json`.

    Args:
        folder: the one it lies in, such as `crops`; empty for `sources` and its like
        stem: its name
        shipped: whether there is a shipped file of that name, which an own one changes
        names: as for `schema_of`
    """
    model, kind = (FOLDERS[folder], _KINDS[folder]) if folder else (SINGLES[stem], stem)
    if folder == "care" and stem in NUMBERS:
        model, kind = care_model(stem), f"{kind}-{stem}"
    return f"{kind}-changes.json" if shipped and folder else f"{kind}.json", schema_of(
        model, changes=shipped, names=names
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


def _tidy(schema: Any, *, changes: bool) -> None:
    """Take away what says nothing to an editor: names of keys once more, values that no file can hold."""
    if isinstance(schema, list):
        for each in schema:
            _tidy(each, changes=changes)
        return
    if not isinstance(schema, dict):
        return
    if changes:
        schema.pop("required", None)
        schema.pop("allOf", None)
    branches = schema.get("anyOf", [])
    if {"type": "null"} in branches:
        one, *more = (each for each in schema.pop("anyOf") if each != {"type": "null"})
        schema |= {"anyOf": [one, *more]} if more else one
    if "default" in schema and schema["default"] in (None, {}, [], ""):
        del schema["default"]
    for key, inner in schema.items():
        if key in ("properties", "patternProperties"):
            for each in inner.values():
                if isinstance(each, dict):
                    each.pop("title", None)
                    _tidy(each, changes=changes)
        elif key not in ("definitions", "enum", "examples", "required"):
            _tidy(inner, changes=changes)
    if "patternProperties" in schema:
        schema["additionalProperties"] = False
