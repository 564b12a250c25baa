"""What is read of a document is what an independent library of models reads of it, and the same values are wrong.

The library is pydantic, in its strict mode: it knows nothing of how `checked` reads, only what tables are declared as.
"""

from __future__ import annotations

import copy
import random
import tomllib
from collections.abc import Callable, Iterator, Mapping
from datetime import date, datetime
from functools import cache
from pathlib import Path
from types import UnionType
from typing import Annotated, Any, Union, cast, get_args, get_origin

import pytest
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
from almanac.nursery.settings import Settings
from almanac.rulebook.checked import checked
from almanac.rulebook.fields import EvenLeftOut, Filled, Form, Quantity, Read, Table, Then, Within, declared
from almanac.rulebook.load import FOLDERS, SINGLES, shipped_rules
from almanac.rulebook.models import care_model

EXAMPLES = Path(__file__).parents[2] / "examples"
MORE = """
frost = { record = { file = ["one.csv", "two.csv"], unit = "C" }, last = 5 }
mother = [{ variety = 7 }, { variety = "7", place = "wall" }]
place = [{ name = "T", kind = "tray", holds = 3, air = "60 F" }, { name = "L", kind = "bed", holds = 9 }]
shelter = [{ name = "S", pots = 3 }]
space = { light = { ppfd = 100, hours = 12, where = "window", share = 0.3, on = "5:30" } }
week = { bench_days = ["tue"], away = [{ from = 2026-01-01, to = 2026-01-09 }], longest = "3 h" }
"""
VALUES: tuple[object, ...] = (
    *("", "x", "look", "spring", "accepted", "5 C", "-3 F", "2 weeks", "4 in", "1 l", "18:30", "50%", "2026-01-01"),
    *(0, 1, -1, 3, 3.5, 0.3, -0.5, 1e9, float("inf"), float("nan"), 10**400, True, False),
    *([], ["x"], [1], {}, {"a": 1}, [{}], {"source": "x"}, date(2026, 1, 1), datetime(2026, 1, 1, 3)),
)


def documents() -> Iterator[tuple[type[Table], dict[str, Any]]]:
    """Every file that ships, with what it is read as, and a nursery that says more."""
    for path in sorted(shipped_rules().rglob("*.toml")):
        folder, stem = path.relative_to(shipped_rules()).parent.as_posix(), path.stem
        found = tomllib.loads(path.read_text("utf-8"))
        table = SINGLES[stem] if folder == "." else care_model(stem) if folder == "care" else FOLDERS[folder]
        yield table, found if folder == "." else found | {"id": stem}
    for path in sorted(EXAMPLES.glob("*/nursery.toml")):
        found = tomllib.loads(path.read_text("utf-8"))
        yield Settings, found
        yield Settings, found | tomllib.loads(MORE)


@cache
def model_of(table: Any) -> type[BaseModel]:
    """The library's model of a table, which gives the table itself."""
    fields = {}
    for name, each in declared(table).items():
        even = any(isinstance(mark, EvenLeftOut) for mark in each.marks)
        default = ... if each.wanted else each.default
        fields[name] = (_type(each.type), Field(default, alias=each.key, validate_default=even))

    def whole(cls: Any, written: Any, handler: Callable[[Any], Any]) -> Table:
        found = handler(table.taken(written) if isinstance(written, dict) else written)
        made: Table = table(**{name: getattr(found, name) for name in fields})
        made.check()
        return made

    config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)
    validators: Any = {"whole": model_validator(mode="wrap")(cast(Any, classmethod(whole)))}
    made: type[BaseModel] = create_model(table.__name__, __config__=config, __validators__=validators, **fields)  # type: ignore[call-overload]
    return made


def _type(kind: Any) -> Any:
    inner, build = get_args(kind), cast(Any, Annotated)
    if get_origin(kind) is Annotated:
        marks = (each for mark in inner[1:] for each in _marks(mark))
        return build[(_type(inner[0]), "", *marks)]
    if get_origin(kind) in (Union, UnionType):
        return cast(Any, Union)[tuple(_type(each) for each in inner)]
    if get_origin(kind) is tuple:
        return build[cast(Any, tuple)[_type(inner[0]), ...], BeforeValidator(_list)]
    if get_origin(kind) is Mapping:
        return cast(Any, dict)[_type(inner[0]), _type(inner[1])]
    return model_of(cast(Any, kind)) if isinstance(kind, type) and issubclass(kind, Table) else kind


def _list(written: object) -> object:
    """TOML has lists alone; in its strict mode the library tells them from tuples."""
    if not isinstance(written, list | tuple):
        raise ValueError("no list")
    return tuple(written)


def _marks(mark: Any) -> Iterator[Any]:
    if isinstance(mark, Read):
        yield BeforeValidator(mark.by)
    elif isinstance(mark, Quantity):
        yield BeforeValidator(lambda written: units.parse(written, mark.kind))
    elif isinstance(mark, Form | Then):
        yield AfterValidator(mark.held if isinstance(mark, Form) else mark.by)
    elif isinstance(mark, Filled):
        yield Field(min_length=1)
    elif isinstance(mark, Within):
        bounds = {name: getattr(mark, name) for name in ("gt", "ge", "lt", "le")}
        yield Field(**{name: bound for name, bound in bounds.items() if bound is not None})


def _wrong(table: type[Table], document: Mapping[str, Any]) -> tuple[Any, set[tuple[int | str, ...]]]:
    """What the library makes of a document, and the way to each value that it finds wrong."""
    try:
        return model_of(cast(Any, table)).model_validate(document), set()
    except ValidationError as error:
        return None, {_way(each["loc"], document, each["type"] == "missing") for each in error.errors()}


def _way(loc: tuple[int | str, ...], document: Any, missing: bool) -> tuple[int | str, ...]:
    """A way without what the library puts in it of its own: the kinds of value that one may be."""
    kept: list[int | str] = []
    for number, part in enumerate(loc):
        holds = part in document if isinstance(document, dict) else isinstance(part, int) and isinstance(document, list)
        if holds or (missing and number == len(loc) - 1):
            kept.append(part)
            document = document[part] if holds else None
    return tuple(kept)


def _ways(value: Any, way: tuple[int | str, ...] = ()) -> Iterator[tuple[int | str, ...]]:
    yield way
    parts = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for part, inner in parts:
        yield from _ways(inner, (*way, part))


def _damage(document: dict[str, Any], chance: random.Random) -> None:
    """One value goes, comes, or is another."""
    *above, last = chance.choice([way for way in _ways(document) if way])
    here: Any = document
    for part in above:
        here = here[part]
    act = chance.random()
    if act < 0.2:
        del here[last]
    elif act < 0.35 and isinstance(here, dict):
        here[f"{last}x"] = here.pop(last)
    else:
        here[last] = copy.deepcopy(chance.choice(VALUES))


def test_what_ships_is_read_as_an_independent_library_reads_it() -> None:
    for table, document in documents():
        assert checked(table, document) == (_wrong(table, document)[0], [])


@pytest.mark.parametrize("seed", range(4))
def test_the_values_found_wrong_are_those_that_an_independent_library_finds(seed: int) -> None:
    chance = random.Random(seed)
    sound = list(documents())

    for _ in range(150):
        table, document = chance.choice(sound)
        damaged = copy.deepcopy(document)
        for _ in range(chance.choice((1, 1, 2, 3))):
            _damage(damaged, chance)
        found, slips = checked(table, damaged)
        assert (found, {loc for loc, _ in slips}) == _wrong(table, damaged), damaged
