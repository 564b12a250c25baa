"""From a TOML document to the table it holds, or every slip in it with the way to it. Pure."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from datetime import date, time
from functools import cache
from math import isfinite
from types import UnionType
from typing import Annotated, Any, Literal, TypeVar, Union, cast, get_args, get_origin

from almanac import units
from almanac.faults import Fact, Fault, Miswritten, as_found, nearest
from almanac.rulebook.fields import (
    Declared,
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
_Reader = Callable[[Any, Loc, list[Slip]], Any]  # gives the value as it is kept; adds what is wrong and gives _WRONG
_WRONG: Any = object()
_BEYOND = 10**300  # what no float can hold lies not far behind it


def checked(table: type[_Of], document: Mapping[str, Any]) -> tuple[_Of | None, list[Slip]]:
    """A document as the table it should be, None where it is not; and every slip, with the way to it."""
    slips: list[Slip] = []
    found = _reader(cast(Hashable, table))(document, (), slips)
    return (None if found is _WRONG else found), slips


def faults_of(
    slips: Sequence[Slip],
    file: str,
    text: str,
    document: object,
    line: Callable[[Loc], int | None] | None = None,
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
    last = dict(slips)  # of what is wrong with one value, what is wrong with it as a whole
    return [Fault(file=file, fact=fact, line=where(loc), key=key_in_words(loc, document)) for loc, fact in last.items()]


def _table(table: type[Table]) -> _Reader:
    fields = [(name, each.key, _reader(each.type), each) for name, each in declared(table).items()]
    known = {key for _, key, _, _ in fields}
    even = {name for name, _, _, each in fields if any(isinstance(mark, EvenLeftOut) for mark in each.marks)}
    taken = None if table.taken.__func__ is Table.taken.__func__ else table.taken  # type: ignore[attr-defined]
    checks = table.check is not Table.check

    def read(written: Any, loc: Loc, slips: list[Slip]) -> Any:
        if not isinstance(written, dict):
            slips.append((loc, Fact("no_table", given=as_found(written), table=_path(loc))))
            return _WRONG
        before, values = len(slips), {}
        try:
            given = taken(written) if taken else written
        except Miswritten as error:
            slips.append((loc, error.fact))
            return _WRONG
        for name, key, reader, each in fields:
            if key in given:
                values[name] = reader(given[key], (*loc, key), slips)
            elif each.wanted:
                slips.append(((*loc, key), _missing(each, (*loc, key))))
            elif name in even:
                values[name] = reader(each.default, loc, slips)  # where it is left out its table is what can be shown
        if not known.issuperset(given):
            slips += (((*loc, key), _unknown(key, known)) for key in given if key not in known)
        if len(slips) > before:
            return _WRONG
        found = table(**values)
        try:
            if checks:
                found.check()
        except Miswritten as error:
            slips.append((loc, error.fact))
            return _WRONG
        return found

    return read


def _missing(wanted: Declared, loc: Loc) -> Fact:
    if table_within(wanted.type) is None:
        return Fact("missing")
    is_list = get_origin(bare(wanted.type)) is tuple
    return Fact("list_missing" if is_list else "table_missing", table=_path(loc))


def _unknown(key: str, known: set[str]) -> Fact:
    return Fact("no_key", near=nearest(key, sorted(known)))


def _path(loc: Loc) -> str:
    return ".".join(str(part) for part in loc if isinstance(part, str))


@cache
def _reader(kind: Any) -> _Reader:
    origin, inner = get_origin(kind), get_args(kind)
    if origin is Annotated:
        return _marked(_reader(inner[0]), inner[1:])
    if origin in (Union, UnionType):
        readers = [_reader(each) for each in inner if each is not type(None)]
        return readers[0] if len(readers) == 1 else _either(readers)
    if origin is Literal:
        return _word(inner)
    if origin is tuple:
        return _list(_reader(inner[0]))
    if origin is not None and issubclass(origin, Mapping):
        return _named(_reader(inner[0]), _reader(inner[1]))
    if isinstance(kind, type) and issubclass(kind, Table):
        return _table(kind)
    return _PLAIN[kind]


def _marked(reader: _Reader, marks: Sequence[Any]) -> _Reader:
    befores = [_before(mark) for mark in marks if isinstance(mark, Read | Quantity)]
    before = befores[0] if befores else None
    bounds = [mark for mark in marks if isinstance(mark, Within)]
    filled = any(isinstance(mark, Filled) for mark in marks)
    afters = [mark.held if isinstance(mark, Form) else mark.by for mark in marks if isinstance(mark, Form | Then)]

    def read(written: Any, loc: Loc, slips: list[Slip]) -> Any:
        try:
            given = before(written) if before else written
            found = reader(given, loc, slips)
            if found is _WRONG:
                return found
            for each in bounds:
                if broken := each.broken(found):
                    bound, limit = broken
                    raise Miswritten(Fact("out_of_bounds", given=given, bound=bound, limit=type(found)(limit)))
            if filled and not found:
                raise Miswritten(Fact("list_empty"))
            for after in afters:
                found = after(found)
        except Miswritten as error:
            slips.append((loc, error.fact))
            return _WRONG
        return found

    return read


def _before(mark: Read | Quantity) -> Callable[[object], object]:
    if isinstance(mark, Read):
        return mark.by
    kind = mark.kind
    return lambda written: units.parse(written, kind)


def _either(readers: Sequence[_Reader]) -> _Reader:
    """The first that a value fits. Where it fits none, the words allowed say most about a text, else the last does."""

    def read(written: Any, loc: Loc, slips: list[Slip]) -> Any:
        tried: list[Slip] = []
        for reader in readers:
            own: list[Slip] = []
            found = reader(written, loc, own)
            if found is not _WRONG:
                return found
            words = isinstance(written, str) and any(fact.kind == "no_such_word" for _, fact in tried)
            tried += [] if words else own
        slips += tried
        return _WRONG

    return read


def _word(words: tuple[str, ...]) -> _Reader:
    def read(written: Any, loc: Loc, slips: list[Slip]) -> Any:
        if isinstance(written, str) and written in words:
            return written
        slips.append((loc, Fact("no_such_word", given=as_found(written), near=nearest(str(written), words))))
        return _WRONG

    return read


def _list(reader: _Reader) -> _Reader:
    def read(written: Any, loc: Loc, slips: list[Slip]) -> Any:
        if isinstance(written, dict):
            slips.append((loc, Fact("table_for_list", table=_path(loc))))
            return _WRONG
        if not isinstance(written, list):
            slips.append((loc, _other(written, "list")))
            return _WRONG
        before = len(slips)
        found = tuple(reader(each, (*loc, number), slips) for number, each in enumerate(written))
        return found if len(slips) == before else _WRONG

    return read


def _named(name: _Reader, reader: _Reader) -> _Reader:
    def read(written: Any, loc: Loc, slips: list[Slip]) -> Any:
        if not isinstance(written, dict):
            slips.append((loc, Fact("no_table", given=as_found(written), table=_path(loc))))
            return _WRONG
        before, found = len(slips), {}
        for key, value in written.items():
            here = (*loc, key)
            name(key, here, slips)
            found[key] = reader(value, here, slips)
        return found if len(slips) == before else _WRONG

    return read


def _other(written: object, expected: str) -> Fact:
    return Fact("other_type", given=as_found(written), expected=expected)


def _exactly(kind: type, expected: str) -> _Reader:
    def read(written: Any, loc: Loc, slips: list[Slip]) -> Any:
        if type(written) is kind:
            return written
        slips.append((loc, _other(written, expected)))
        return _WRONG

    return read


def _number(written: Any, loc: Loc, slips: list[Slip]) -> Any:
    if type(written) is int and abs(written) < _BEYOND:
        written = float(written)
    if type(written) is float and isfinite(written):
        return written
    slips.append((loc, _other(written, "finite_number" if type(written) is float else "number")))
    return _WRONG


def _as_it_is(written: Any, loc: Loc, slips: list[Slip]) -> Any:
    return written


_PLAIN: Mapping[Any, _Reader] = {
    str: _exactly(str, "text"),
    int: _exactly(int, "whole_number"),
    float: _number,
    bool: _exactly(bool, "truth"),
    date: _exactly(date, "date"),
    time: _exactly(time, "text"),
    Any: _as_it_is,
}
