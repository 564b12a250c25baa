"""From a TOML document to the table it holds, or every slip in it with the way to it.

A table is declared with its marks (`fields`); from that a model of pydantic's is built, in its strict mode, which does
the checking and gives the table itself. The library is imported here alone, and takes a third of a cold command: who
has read a file before does without it (`kept`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache, partial
from types import UnionType
from typing import Annotated, Any, Literal, TypeVar, Union, cast, get_args, get_origin

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationError,
    create_model,
    model_validator,
)

from almanac import units
from almanac.faults import Fact, Fault, Miswritten, as_found, nearest
from almanac.rulebook.fields import (
    EvenLeftOut,
    Filled,
    Form,
    Quantity,
    Read,
    Table,
    Then,
    Within,
    bare,
    declared,
    table_within,
)
from almanac.rulebook.toml_text import Loc, key_in_words, line_of

Slip = tuple[Loc, Fact]
_Of = TypeVar("_Of", bound=Table)
_STRICT = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)
# What a value should have been, by the kind of error that the library tells.
_EXPECTED = {
    "string_type": "text",
    "int_type": "whole_number",
    "float_type": "number",
    "finite_number": "finite_number",
    "bool_type": "truth",
    "list_type": "list",
}
_BOUNDS = {"greater_than": "gt", "greater_than_equal": "ge", "less_than": "lt", "less_than_equal": "le"}


def checked(table: type[_Of], document: Mapping[str, Any]) -> tuple[_Of | None, list[Slip]]:
    """A document as the table it should be, None where it is not; and every slip, with the way to it."""
    try:
        return cast(_Of, _model_of(cast(Any, table)).model_validate(document)), []
    except ValidationError as error:
        told = error.errors(include_url=False, include_input=True)
    details: dict[Loc, Any] = {}
    for detail in told:
        loc = _keys(detail["loc"], document, missing=detail["type"] == "missing")
        # A value that fits no branch of a union fails each: the words allowed say most about a text, else the last.
        if loc not in details or not (isinstance(detail["input"], str) and details[loc]["type"] == "literal_error"):
            details[loc] = detail
    return None, [(loc, _fact(detail, table, loc)) for loc, detail in details.items()]


def faults_of(
    slips: Sequence[Slip], file: str, text: str, document: object, line: Callable[[Loc], int | None] | None = None
) -> list[Fault]:
    """Every slip as a fault, with its line and its key in words.

    Args:
        slips: what was found
        file: the name to show
        text: the file's text, to find the line of a key (the TOML reader keeps none)
        document: the parsed document, to name list items by their own names
        line: where `text` is not the whole document, how to find the line of a key instead
    """
    where = line or (lambda loc: line_of(text, loc))
    return [Fault(file=file, fact=fact, line=where(loc), key=key_in_words(loc, document)) for loc, fact in slips]


@cache
def _model_of(table: Any) -> type[BaseModel]:
    """The library's model of a table, which gives the table itself."""
    fields = {}
    for name, each in declared(table).items():
        even = any(isinstance(mark, EvenLeftOut) for mark in each.marks)
        # By a function: the library copies what it is given itself, and a table's sealed mappings cannot be.
        default: Any = {} if each.wanted else {"default_factory": partial(_itself, each.default)}
        fields[name] = (_type(each.type), Field(alias=each.key, validate_default=even, **default))

    def whole(cls: Any, written: Any, handler: Callable[[Any], Any]) -> Table:
        found = handler(table.taken(written) if isinstance(written, dict) else written)
        made: Table = table(**{name: getattr(found, name) for name in fields})
        made.check()
        return made

    validators: Any = {"whole": model_validator(mode="wrap")(cast(Any, classmethod(whole)))}
    made: type[BaseModel] = create_model(table.__name__, __config__=_STRICT, __validators__=validators, **fields)  # type: ignore[call-overload]
    return made


def _itself(default: object) -> object:
    return default


def _type(kind: Any, marks: Sequence[Any] = ()) -> Any:
    """A type as the library checks it: bounds first, then what the marks say of the whole."""
    inner, build = get_args(kind), cast(Any, Annotated)
    if get_origin(kind) is Annotated:
        return _type(inner[0], inner[1:])
    found = kind
    if get_origin(kind) in (Union, UnionType):
        found = cast(Any, Union)[tuple(_type(each) for each in inner)]
    elif get_origin(kind) is tuple:
        filled = [Field(min_length=1) for mark in marks if isinstance(mark, Filled)]
        found = build[(cast(Any, list)[_type(inner[0])], *filled, AfterValidator(tuple))]
    elif get_origin(kind) is Mapping:
        found = cast(Any, dict)[_type(inner[0]), _type(inner[1])]
    elif isinstance(kind, type) and issubclass(kind, Table):
        found = _model_of(cast(Any, kind))
    told = [each for read in (_bounds, _readings) for mark in marks for each in read(mark)]
    return build[(found, *told)] if told else found


def _bounds(mark: Any) -> Iterator[Any]:
    if isinstance(mark, Within):
        bounds = {name: getattr(mark, name) for name in _BOUNDS.values()}
        yield Field(**{name: bound for name, bound in bounds.items() if bound is not None})


def _readings(mark: Any) -> Iterator[Any]:
    if isinstance(mark, Read):
        yield BeforeValidator(mark.by)
    elif isinstance(mark, Quantity):
        yield BeforeValidator(lambda written: units.parse(written, mark.kind))
    elif isinstance(mark, Form | Then):
        yield AfterValidator(mark.held if isinstance(mark, Form) else mark.by)


def _keys(loc: Loc, document: object, *, missing: bool) -> Loc:
    """The keys of a location, without the names of union branches that the library puts between them."""
    kept: list[int | str] = []
    here: Any = document
    for number, part in enumerate(loc):
        try:
            inner = here[cast(Any, part)] if isinstance(here, dict | list) else None
        except (KeyError, IndexError, TypeError):
            inner = None
        if inner is not None or (missing and number == len(loc) - 1):
            kept.append(part)
            here = inner
    return tuple(kept)


def _fact(detail: Any, table: type[Table], loc: Loc) -> Fact:
    kind, given, context = detail["type"], as_found(detail["input"]), detail.get("ctx", {})
    path = ".".join(str(part) for part in loc if isinstance(part, str))
    if kind == "missing":
        wanted = _declared_at(table, loc)
        if table_within(wanted) is None:
            return Fact("missing")
        return Fact("list_missing" if get_origin(bare(wanted)) is tuple else "table_missing", table=path)
    if kind == "extra_forbidden":
        return Fact("no_key", near=nearest(str(loc[-1]), _keys_beside(table, loc)))
    if kind == "value_error":
        return cast(Miswritten, context["error"]).fact
    if kind == "literal_error":
        return Fact("no_such_word", given=given, near=nearest(str(detail["input"]), _words(_declared_at(table, loc))))
    if kind in _BOUNDS:
        bound = _BOUNDS[kind]
        return Fact("out_of_bounds", given=given, bound=bound, limit=context[bound])
    if kind == "too_short":
        return Fact("list_empty")
    if kind in ("dict_type", "model_type"):
        return Fact("no_table", given=given, table=path)
    if kind == "list_type" and isinstance(detail["input"], dict):
        return Fact("table_for_list", table=path)
    return Fact("other_type", given=given, expected="date" if kind.startswith("date") else _EXPECTED.get(kind, "text"))


def _words(kind: Any) -> Iterator[str]:
    """The words that a value may be."""
    if get_origin(kind) is Literal:
        yield from get_args(kind)
    for inner in get_args(kind):
        yield from _words(inner)


def _keys_beside(table: type[Table], loc: Loc) -> list[str]:
    """The keys that the table holding `loc` may have."""
    here = table_within(_declared_at(table, loc[:-1]))
    return sorted(each.key for each in declared(here).values()) if here else []


def _declared_at(table: type[Table], loc: Loc) -> Any:
    """What is declared of the value at `loc`; a key chosen freely stands for the table it names."""
    found: Any = table
    for part in loc:
        here = table_within(found)
        if isinstance(part, str) and here is not None:
            found = {each.key: each.type for each in declared(here).values()}.get(part, found)
    return found
