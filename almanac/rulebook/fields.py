"""Field types that both rule files and nursery files use: quantities with units, and faults from a failed model."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Annotated, Any, get_args

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationError

from almanac import units
from almanac.faults import Fault, suggestion


def _quantity(kind: str) -> BeforeValidator:
    def read(written: object) -> float:
        return units.parse(written, kind)

    return BeforeValidator(read)


Temperature = Annotated[float, _quantity("temperature")]
Length = Annotated[float, _quantity("length")]
Volume = Annotated[float, _quantity("volume")]
Days = Annotated[float, _quantity("days")]
Hours = Annotated[float, _quantity("hours")]


class Table(BaseModel):
    """A TOML table: an unknown key is a fault, values are never guessed into another type."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


def faults_of(error: ValidationError, model: type[BaseModel], file: str, text: str, document: object) -> list[Fault]:
    """Every fault a model found in a TOML document, each with its line and its key in words.

    Args:
        error: what pydantic raised
        model: the model of the whole document
        file: the name to show
        text: the file's text, to find the line of a key (the TOML reader keeps none)
        document: the parsed document, to name list items by their own names
    """
    found = []
    for detail in error.errors(include_url=False, include_input=True):
        loc = tuple(part for part in detail["loc"] if not _is_tag(part))
        found.append(Fault(file, _wording(detail, model, loc), line_of(text, loc), _key_in_words(loc, document)))
    return found


def _is_tag(part: object) -> bool:
    """Pydantic names the branch of a union inside the location; a key never looks like that."""
    return isinstance(part, str) and ("[" in part or part in ("str", "float", "int", "bool", "date"))


def _wording(detail: Any, model: type[BaseModel], loc: tuple[int | str, ...]) -> str:
    kind, given = detail["type"], detail.get("input")
    if kind == "missing":
        return "is missing; add it"
    if kind == "extra_forbidden":
        return f"is not a key here{suggestion(str(loc[-1]), _keys_beside(model, loc))}"
    if kind == "value_error":
        return str(detail["ctx"]["error"])
    if kind == "literal_error":
        known = re.findall(r"'([^']*)'", detail["ctx"]["expected"])
        return f"{units.shown(given)} is not known{suggestion(str(given), known)}"
    wanted = {
        "string_type": "a text in quotes",
        "int_type": "a whole number",
        "float_type": "a number",
        "bool_type": "true or false",
        "list_type": "a list in [ ]",
        "tuple_type": "a list in [ ]",
        "dict_type": "a table",
        "model_type": "a table",
        "date_type": "a date such as 2027-03-14",
    }.get(kind)
    if wanted:
        return f"{units.shown(given)} is not {wanted}; write {wanted}"
    message = detail["msg"][0].lower() + detail["msg"][1:]
    return f"{units.shown(given)} will not do: {message}"


def _keys_beside(model: type[BaseModel], loc: tuple[int | str, ...]) -> list[str]:
    """The keys that the table holding `loc` may have."""
    here: type[BaseModel] | None = model
    for part in loc[:-1]:
        if isinstance(part, int) or here is None:
            continue
        field = _fields(here).get(part)
        here = _model_within(field) if field is not None else here
    return sorted(_fields(here)) if here else []


def _fields(model: type[BaseModel]) -> Mapping[str, Any]:
    return {field.alias or name: field.annotation for name, field in model.model_fields.items()}


def _model_within(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for inner in get_args(annotation):
        found = _model_within(inner)
        if found:
            return found
    return None


def _key_in_words(loc: tuple[int | str, ...], document: object) -> str:
    """`bin 'A', mat` for ("bin", 0, "mat"): list items go by their own name, else by number from 1."""
    words: list[str] = []
    here: Any = document
    for part in loc:
        here = _inside(here, part)
        if isinstance(part, int):
            name = here.get("id") or here.get("name") if isinstance(here, dict) else None
            words[-1] += f" '{name}'" if name else f" {part + 1}"
        else:
            words.append(part)
    return ", ".join(words)


def _inside(here: Any, part: int | str) -> Any:
    try:
        return here[part]
    except (KeyError, IndexError, TypeError):
        return None


_HEADER = re.compile(r"\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(?:#.*)?$")


def line_of(text: str, loc: tuple[int | str, ...]) -> int | None:
    """The line of a TOML key, from 1: of the key itself where it stands on its own line, else of what holds it."""
    path = [part for part in loc if isinstance(part, str)]
    wanted = [part for part in loc if isinstance(part, int)]
    counts: dict[str, int] = {}
    table: list[str] = []
    best: tuple[int, int] | None = None
    in_items = True
    for number, line in enumerate(text.splitlines(), 1):
        header = _HEADER.match(line)
        if header:
            name = re.sub(r"['\"\s]", "", header[2])
            table = name.split(".")
            if header[1] == "[[":
                counts[name] = counts.get(name, -1) + 1
            root = table[0]
            in_items = root not in counts or not wanted or counts[root] == wanted[0]
            depth = _shared(table, path) if in_items and _shared(table, path) == len(table) else 0
        elif in_items and _shared(table, path) == len(table):
            key = line.split("=")[0].strip().strip("\"'") if "=" in line else ""
            keys = [part.strip().strip("\"'") for part in key.split(".")]
            rest = path[len(table) :]
            depth = len(table) + len(keys) if keys == rest[: len(keys)] else 0
        else:
            depth = 0
        if depth and (best is None or depth > best[0]):
            best = (depth, number)
    return best[1] if best else None


def _shared(one: list[str], other: list[str]) -> int:
    return next((i for i, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), min(len(one), len(other)))
