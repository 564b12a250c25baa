"""What a constructor takes cannot be exchanged unseen, and what it makes does not change."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterator, Mapping
from dataclasses import FrozenInstanceError
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from almanac.actions.look import look
from almanac.plain import dataclass
from almanac.plan.past import Past
from almanac.worked_out import WorkedOut
from tests.swaps import classes, swaps_of

EXAMPLE = Path(__file__).parents[2] / "examples" / "quince-lane"
CHANGES = (dict, list, set, bytearray)
WRITTEN = re.compile(rf"\b(?:{'|'.join(each.__name__ for each in CHANGES)}|defaultdict|Counter|deque|Mutable\w+)\b")


def test_no_two_arguments_of_a_constructor_can_be_exchanged_unseen() -> None:
    assert [line for cls in classes("almanac") for line in swaps_of(cls)] == []


@dataclass(frozen=True)
class Window:
    first: date
    last: date | None = None


@dataclass(frozen=True)
class Many:
    lot: str
    count: int
    day: date
    mat: float | None


class Bins:
    def __init__(self, here: str, there: str, *, day: date, end: date) -> None:
        self.all = here, there, day, end


@pytest.mark.parametrize(
    ("cls", "told"),
    [
        (Window, ["first and last, date and date | None"]),
        (Many, ["4 arguments without names", "count and mat, int and float | None"]),
        (Bins, ["here and there, str and str"]),
    ],
)
def test_one_that_could_be_called_with_two_of_a_kind_exchanged_is_told(cls: type, told: list[str]) -> None:
    assert swaps_of(cls) == [f"{__name__}.{cls.__name__}: {each}" for each in told]


def frozen() -> Iterator[type]:
    for cls in classes("almanac"):
        if dataclasses.is_dataclass(cls) and cls.__setattr__ is not object.__setattr__:
            yield cls


def test_a_frozen_class_says_of_nothing_in_it_that_it_may_change() -> None:
    kinds = {
        f"{cls.__qualname__}.{field.name}": re.sub(r"(?:WorkedOut|Callable)\[.*", "", str(field.type))
        for cls in frozen()
        for field in dataclasses.fields(cls)
    }

    assert len(kinds) > 1000
    assert [f"{name}: {kind}" for name, kind in kinds.items() if WRITTEN.search(kind)] == []


def held(thing: object, seen: set[int]) -> Iterator[tuple[str, object]]:
    """All that is held by the frozen classes in something, each with the field that holds it."""
    if id(thing) in seen:
        return
    seen.add(id(thing))
    if isinstance(thing, Mapping):
        for value in thing.values():
            yield from held(value, seen)
    elif isinstance(thing, tuple | frozenset):
        for value in thing:
            yield from held(value, seen)
    elif dataclasses.is_dataclass(thing):
        for field in dataclasses.fields(thing):
            value = getattr(thing, field.name)
            yield f"{type(thing).__qualname__}.{field.name}", value
            yield from held(value, seen)


def test_nothing_that_a_plan_rests_on_can_be_written_into() -> None:
    seen = look(EXAMPLE, datetime(2026, 2, 24, 18, tzinfo=UTC), date(2026, 2, 24))

    every = list(held(seen, set()))

    assert len(every) > 10_000
    assert {name for name, value in every if isinstance(value, CHANGES)} == set()


def test_a_mapping_that_was_handed_to_a_frozen_class_cannot_be_written_into() -> None:
    past = Past(rounds={date(2026, 2, 20): frozenset()})

    with pytest.raises(TypeError):
        past.rounds[date(2026, 2, 21)] = frozenset()  # type: ignore[index]  # that is what is tried
    with pytest.raises(FrozenInstanceError):
        past.rounds = {}  # type: ignore[misc]  # likewise
    assert dict(past.rounds) == {date(2026, 2, 20): frozenset()}


def test_what_was_worked_out_is_worked_out_once_and_no_more_is_kept_than_was_said() -> None:
    asked: list[int] = []
    doubled: WorkedOut[int, int] = WorkedOut(most=2)

    def twice(number: int) -> int:
        return doubled.of(number, lambda: asked.append(number) or 2 * number)  # type: ignore[func-returns-value]

    assert [twice(number) for number in (1, 2, 1, 3, 3, 1)] == [2, 4, 2, 6, 6, 2]
    assert asked == [1, 2, 3, 1]  # the third began anew
