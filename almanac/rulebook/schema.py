"""From the models of files to JSON schemas, by which an editor completes and checks a file while it is written. Pure.

Instead of schemas kept by hand: these say what the models say, and cannot fall behind them. Draft 7, since that is what
editors of TOML know. A schema tells the form of a quantity, not its range, and no more of a rule between two keys than
the models give it beside the rule (`between` in `fields`).
"""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel

from almanac.rulebook.load import FOLDERS, SINGLES
from almanac.rulebook.models import care_model
from almanac.rulebook.programmes import NUMBERS

_DRAFT = "http://json-schema.org/draft-07/schema#"
_KINDS = {"crops": "crop", "methods": "method", "care": "care"}
_NAMES = {"task": "id", "milestone": "name"}  # by which an item of an own file meets one of the shipped file
FOLDER = "schema"  # of a nursery, where its files look for theirs
NURSERY = "nursery.json"


def schema_of(model: type[BaseModel], *, changes: bool = False) -> dict[str, Any]:
    """What may stand in a file, as a JSON schema.

    Args:
        model: what the file is read as
        changes: of a file that says only what is other than in a shipped one: nothing is missing there
    """
    found = model.model_json_schema(by_alias=True, ref_template="#/definitions/{model}")
    found["definitions"] = found.pop("$defs", {})
    for name, table in ((model.__name__, found), *found["definitions"].items()):
        _tidy(table, changes=changes)
        table.setdefault("title", name)
    if changes:
        for key, name in _NAMES.items():
            if key in found["properties"]:
                items = found["properties"][key]["items"]
                found["properties"][key]["items"] = {"allOf": [items], "required": [name]}
    return {"$schema": _DRAFT, **found}


def rule_schema(folder: str, stem: str, *, shipped: bool) -> tuple[str, dict[str, Any]]:
    """The schema of a rule file and the name of the file it goes into, as `crop.json`.

    Args:
        folder: the one it lies in, such as `crops`; empty for `sources` and its like
        stem: its name
        shipped: whether there is a shipped file of that name, which an own one changes
    """
    model, kind = (FOLDERS[folder], _KINDS[folder]) if folder else (SINGLES[stem], stem)
    if folder == "care" and stem in NUMBERS:
        model, kind = care_model(stem), f"{kind}-{stem}"
    return f"{kind}-changes.json" if shipped and folder else f"{kind}.json", schema_of(model, changes=shipped)


def rule_schemas() -> dict[str, dict[str, Any]]:
    """Every schema of rule files by the name of its file: of whole ones, and of those that change a shipped one."""
    found = [rule_schema("", stem, shipped=True) for stem in SINGLES]
    found += [rule_schema(folder, "", shipped=shipped) for folder in FOLDERS for shipped in (False, True)]
    found += [rule_schema("care", stem, shipped=True) for stem in NUMBERS]
    return dict(found)


def named_in(folder: str, stem: str, *, shipped: bool) -> str:
    """The line by which a nursery's own rule file names its schema to editors."""
    up = "../../" if folder else "../"
    return f"#:schema {up}{FOLDER}/{rule_schema(folder, stem, shipped=shipped)[0]}"


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
