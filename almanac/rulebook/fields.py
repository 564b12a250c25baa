"""What rule files and nursery files share: TOML as read, quantities with units, and faults from a failed model."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal, cast, get_args, get_origin

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, ValidationError
from pydantic.fields import FieldInfo

from almanac import units
from almanac.faults import Fact, Fault, Miswritten, as_found, clipped, nearest

Loc = tuple[int | str, ...]
# No number of a file is larger; without the bound a day counted from another could fall out of the calendar.
_LARGEST = 100_000


def _quantity(kind: str) -> BeforeValidator:
    def read(written: object) -> float:
        return units.parse(written, kind)

    return BeforeValidator(read)


@dataclass(frozen=True)
class _Form(AfterValidator):
    """Holds a text to a pattern, of which an editor is told too."""

    pattern: str = ""

    def __get_pydantic_json_schema__(self, core: Any, handler: Any) -> dict[str, Any]:
        return {**handler(core), "pattern": f"^({self.pattern})$"}


def matching(
    pattern: str, form: Literal["short_name", "bin_name", "log", "years", "address", "place_code"]
) -> AfterValidator:
    """Holds a text to a form, by the name it goes by in a fault."""
    compiled = re.compile(pattern)

    def check(written: str) -> str:
        if not compiled.fullmatch(written):
            raise Miswritten(Fact("other_form", given=written, form=form))
        return written

    return _Form(check, pattern)


def quantity_schema(*kinds: str) -> dict[str, Any]:
    """How quantities are written, as an editor is told; the range is left to `units`."""
    patterns = [units.pattern(kind) for kind in kinds]
    return {
        "type": "string",
        "pattern": patterns[0] if len(patterns) == 1 else "|".join(f"({each})" for each in patterns),
        "examples": [each for kind in kinds for each in units.examples(kind)],
    }


@dataclass(frozen=True)
class Quantity:
    """Marks a field that holds a quantity: its kind, as in `units`."""

    kind: str

    def __get_pydantic_json_schema__(self, core: Any, handler: Any) -> dict[str, Any]:
        return quantity_schema(self.kind)


class Written:
    """Marks a field that is read from another form than it is kept in: that form, as an editor is told."""

    def __init__(self, **schema: Any) -> None:
        self._schema = schema

    def __get_pydantic_json_schema__(self, core: Any, handler: Any) -> dict[str, Any]:
        return dict(self._schema)


Temperature = Annotated[float, _quantity("temperature"), Quantity("temperature")]
TemperatureDifference = Annotated[float, _quantity("temperature difference"), Quantity("temperature difference")]
Length = Annotated[float, _quantity("length"), Quantity("length")]
Volume = Annotated[float, _quantity("volume"), Quantity("volume")]
Days = Annotated[float, _quantity("days"), Quantity("days")]
Hours = Annotated[float, _quantity("hours"), Quantity("hours")]


def kind_of(field: FieldInfo) -> str:
    """The kind of quantity that a field holds; empty where it holds none."""
    marks = [*field.metadata, *(mark for inner in get_args(field.annotation) for mark in get_args(inner))]
    return next((mark.kind for mark in marks if isinstance(mark, Quantity)), "")


class Table(BaseModel):
    """A TOML table: an unknown key is a fault, values are never guessed into another type."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


def between(*rules: Mapping[str, Any], required: tuple[str, ...] | None = None) -> ConfigDict:
    """What an editor is told of a table's keys together; what is checked are the model's validators, as ever.

    Args:
        rules: each a JSON schema of the table
        required: the keys that may not be missing, where they are not those without a default
    """
    told: dict[str, Any] = {"allOf": [dict(rule) for rule in rules]}
    return ConfigDict(json_schema_extra=told if required is None else told | {"required": list(required)})


def read_toml(data: bytes, file: str) -> tuple[str, dict[str, Any] | None, list[Fault]]:
    """A TOML file's text, its document, and its faults; the document is None where it cannot be read at all."""
    try:
        text = data.decode("utf-8-sig")
        document = tomllib.loads(text)
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        return "", None, [Fault(file=file, fact=Fact("toml_not_utf8"), line=line)]
    except tomllib.TOMLDecodeError as error:
        message, _, place = str(error).partition(" (at ")
        number = re.match(r"line (\d+)", place)
        line = int(number[1]) if number else len(text.rstrip().split("\n"))
        message = re.sub(r"\(('.*'),?\)", lambda keys: ".".join(re.findall(r"'([^']*)'", keys[1])), message)
        slip = _SYNTAX.get(message, "other")
        return text, None, [Fault(file=file, fact=Fact("not_toml", slip=slip, said=message), line=line)]
    except (ValueError, RecursionError):  # digits without end, brackets within brackets without end
        return text, None, [Fault(file=file, fact=Fact("toml_without_end"))]
    return text, document, []


def too_large(file: str, document: object, line: Callable[[Loc], int | None]) -> list[Fault]:
    """A fault for each number too large for any key."""
    return [
        Fault(file=file, fact=Fact("number_too_large", most=_LARGEST), line=line(loc), key=key_in_words(loc, document))
        for loc, value in leaves(document)
        if isinstance(value, int | float) and abs(value) > _LARGEST
    ]


def leaves(value: Any, loc: Loc = ()) -> Iterator[tuple[Loc, Any]]:
    """Every value of a document that is neither list nor table, with the way to it."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from leaves(inner, (*loc, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from leaves(inner, (*loc, number))
    else:
        yield loc, value


def faults_of(
    error: ValidationError,
    model: type[BaseModel],
    file: str,
    text: str,
    document: object,
    line: Callable[[Loc], int | None] | None = None,
) -> list[Fault]:
    """Every fault a model found in a TOML document, each with its line and its key in words.

    Args:
        error: what pydantic raised
        model: the model of the whole document
        file: the name to show
        text: the file's text, to find the line of a key (the TOML reader keeps none)
        document: the parsed document, to name list items by their own names
        line: where `text` is not the whole document, how to find the line of a key instead
    """
    details: dict[Loc, Any] = {}
    for detail in error.errors(include_url=False, include_input=True):
        loc = _keys(detail["loc"], document, missing=detail["type"] == "missing")
        # A value that fits no branch of a union fails each: the words allowed say most about a text, else the last.
        if loc not in details or not (isinstance(detail["input"], str) and details[loc]["type"] == "literal_error"):
            details[loc] = detail
    where = line or (lambda loc: line_of(text, loc))
    return [
        Fault(file=file, fact=_fact(detail, model, loc), line=where(loc), key=key_in_words(loc, document))
        for loc, detail in details.items()
    ]


def _keys(loc: Loc, document: object, *, missing: bool) -> Loc:
    """The keys of a location, without the names of union branches that pydantic puts between them."""
    kept: list[int | str] = []
    here: Any = document
    for number, part in enumerate(loc):
        inner = _inside(here, part)
        if inner is not None or (missing and number == len(loc) - 1):
            kept.append(part)
            here = inner
    return tuple(kept)


# What the TOML reader says of the slips that growers make; it tells its errors apart by their text alone.
_SYNTAX: dict[str, Literal["quote", "value", "statement"]] = {
    "Illegal character '\\n'": "quote",
    "Unterminated string": "quote",
    "Invalid value": "value",
    "Invalid statement": "statement",
    "Expected '=' after a key in a key/value pair": "statement",
}
# What a value should have been, by the kind of error that the model library tells.
_EXPECTED = {
    "string_type": "text",
    "int_type": "whole_number",
    "float_type": "number",
    "finite_number": "finite_number",
    "bool_type": "truth",
    "list_type": "list",
}
_BOUNDS = {"greater_than": "gt", "greater_than_equal": "ge", "less_than": "lt", "less_than_equal": "le"}


def _fact(detail: Any, model: type[BaseModel], loc: Loc) -> Fact:
    kind, given, context = detail["type"], as_found(detail["input"]), detail.get("ctx", {})
    table = ".".join(str(part) for part in loc if isinstance(part, str))
    if kind == "missing":
        annotation = _annotation(model, loc)
        if _model_within(annotation) is None:
            return Fact("missing")
        return Fact("list_missing" if get_origin(annotation) is list else "table_missing", table=table)
    if kind == "extra_forbidden":
        return Fact("no_key", near=nearest(str(loc[-1]), _keys_beside(model, loc)))
    if kind == "value_error":
        return cast(Miswritten, context["error"]).fact
    if kind == "literal_error":
        return Fact("no_such_word", given=given, near=nearest(str(detail["input"]), _words(_annotation(model, loc))))
    if kind in _BOUNDS:
        bound = _BOUNDS[kind]
        return Fact("out_of_bounds", given=given, bound=bound, limit=context[bound])
    if kind == "too_short":
        return Fact("list_empty")
    if kind in ("dict_type", "model_type"):
        return Fact("no_table", given=given, table=table)
    if kind == "list_type" and isinstance(detail["input"], dict):
        return Fact("table_for_list", table=table)
    return Fact("other_type", given=given, expected="date" if kind.startswith("date") else _EXPECTED.get(kind, "text"))


def _words(annotation: Any) -> Iterator[str]:
    """The words that a field may hold."""
    if get_origin(annotation) is Literal:
        yield from get_args(annotation)
    for inner in get_args(annotation):
        yield from _words(inner)


def _keys_beside(model: type[BaseModel], loc: Loc) -> list[str]:
    """The keys that the table holding `loc` may have."""
    here = _model_within(_annotation(model, loc[:-1]))
    return sorted(_fields(here)) if here else []


def _annotation(model: type[BaseModel], loc: Loc) -> Any:
    """What a model says of the value at `loc`; a key chosen freely stands for the table it names."""
    found: Any = model
    for part in loc:
        here = _model_within(found)
        if isinstance(part, str) and here is not None:
            found = _fields(here).get(part, found)
    return found


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


def key_in_words(loc: Loc, document: object) -> str:
    """`bin 'A', mat` for ("bin", 0, "mat"): list items go by their own name, else by number from 1."""
    words: list[str] = []
    here: Any = document
    for part in loc:
        here = _inside(here, part)
        if isinstance(part, int):
            name = here.get("id") or here.get("name") if isinstance(here, dict) else None
            words[-1] += f" '{clipped(name)}'" if isinstance(name, str) and name else f" {part + 1}"
        else:
            words.append(clipped(part))
    return ", ".join(words)


def _inside(here: Any, part: Any) -> Any:
    try:
        return here[part] if isinstance(here, dict | list) else None
    except (KeyError, IndexError, TypeError):
        return None


_HEADER = re.compile(r"\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(?:#.*)?$")


def line_of(text: str, loc: Loc) -> int | None:
    """The line of a TOML key, from 1: of the key itself where it stands on its own line, else of what holds it."""
    path = [part for part in loc if isinstance(part, str)]
    wanted = [part for part in loc if isinstance(part, int)]
    counts: dict[str, int] = {}
    table: list[str] = []
    best: tuple[int, int] | None = None
    in_items = True
    for number, line in enumerate(text.split("\n"), 1):
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
