"""Dataclasses that are cheap to declare are the standard library's in all that can be asked of them."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable, Mapping
from dataclasses import field, fields, replace
from functools import cached_property
from pathlib import Path
from typing import Any, ClassVar

import pytest

from almanac import plain

Declared = Callable[..., Any]
BOTH = pytest.mark.parametrize("declared", [dataclasses.dataclass, plain.dataclass], ids=["library", "ours"])


def _lot(declared: Declared) -> Any:
    class Lot:
        """A lot."""

        number: str
        count: int = 1
        kinds: ClassVar[int] = 7
        seen: list[str] = field(default_factory=list, compare=False, kw_only=True)
        shown: str = field(init=False, default_factory=str, repr=False)

        @property
        def double(self) -> int:
            return self.count * 2

    Lot.__qualname__ = "Lot"
    return declared(frozen=True)(Lot)


@BOTH
def test_two_of_a_class_are_alike_by_what_they_hold(declared: Declared) -> None:
    lot, other = _lot(declared), _lot(declared)

    assert lot("7a", 3, seen=["x"]) == lot("7a", count=3) != lot("7a", 4)
    assert lot("7a") != other("7a")
    assert len({lot("7a"), lot("7a", 1, seen=["y"]), lot("7b")}) == 2
    assert repr(lot("7a", seen=["x"])) == "Lot(number='7a', count=1, seen=['x'])"
    assert lot("7a", 3).double == 6


@BOTH
def test_what_is_frozen_cannot_be_changed_but_replaced(declared: Declared) -> None:
    lot = _lot(declared)("7a")
    changes: list[Callable[[], object]] = [lambda: setattr(lot, "count", 2), lambda: delattr(lot, "count")]

    for change in changes:
        with pytest.raises(dataclasses.FrozenInstanceError, match="count"):
            change()
    assert replace(lot, count=2).count == 2
    assert lot.count == 1
    assert [each.name for each in fields(lot)] == ["number", "count", "seen", "shown"]


@BOTH
def test_wrong_names_and_missing_values_are_refused(declared: Declared) -> None:
    lot = _lot(declared)
    wrongs: list[Callable[[], object]] = [lambda: lot(), lambda: lot("7a", colour=1), lambda: lot("7a", 1, ["x"])]
    wrongs.append(lambda: lot("7a", shown=""))

    for wrong in wrongs:
        with pytest.raises(TypeError):
            wrong()
    assert lot("7a").seen is not lot("7a").seen


@BOTH
def test_a_class_built_on_another_has_the_fields_of_both(declared: Declared) -> None:
    class Grown(_lot(declared)):  # type: ignore[misc]
        place: str = "A"

        def __post_init__(self) -> None:
            object.__setattr__(self, "where", f"in {self.place}")

    built = declared(frozen=True, kw_only=True)(Grown)

    assert built("7a", place="B").where == "in B"
    assert built("7a") == built("7a", place="A")
    with pytest.raises(TypeError):
        built("7a", 1, "B")


@BOTH
def test_a_class_that_is_not_frozen_is_changed_and_never_hashed(declared: Declared) -> None:
    class Tally:
        count: int = 0

    tally = declared(Tally)()
    tally.count += 2

    assert tally == declared(Tally)(count=2)
    with pytest.raises(TypeError):
        hash(tally)


@BOTH
def test_what_a_class_writes_itself_stays(declared: Declared) -> None:
    class Lot:
        number: str

        def __init__(self, text: str) -> None:
            object.__setattr__(self, "number", text.lower())

        def __repr__(self) -> str:
            return f"<{self.number}>"

        def __eq__(self, other: object) -> bool:
            return isinstance(other, Lot) and self.number[0] == other.number[0]

        def __hash__(self) -> int:
            return 7

    made = declared(frozen=True, init=False)(Lot)

    assert repr(made("7A")) == "<7a>"
    assert made("7A") == made("7b")
    assert hash(made("7A")) == 7


def _counted() -> Any:
    class Counted:
        lots: Mapping[str, int]
        number: int = 0

        @cached_property
        def total(self) -> int:
            return sum(self.lots.values())

    return plain.dataclass(frozen=True, kw_only=True)(Counted)


def test_what_is_replaced_is_as_the_library_makes_it() -> None:
    lot, counted = _lot(plain.dataclass)("7a", 3, seen=["x"]), _counted()(lots={"7a": 2}, number=1)
    assert counted.total == 2

    more = plain.replace(counted, lots={"7a": 2, "7b": 5})

    assert plain.replace(lot, count=2) == replace(lot, count=2) != lot
    assert (more.total, more.number, counted.total) == (7, 1, 2)  # what was worked out of the old one is not taken over
    with pytest.raises(TypeError):
        more.lots["7a"] = 3


@pytest.mark.parametrize("name", ["colour", "shown"])
def test_what_cannot_be_replaced_is_refused_as_by_the_library(name: str) -> None:
    for made in (_lot(plain.dataclass)("7a"), _counted()(lots={})):
        for way in (plain.replace, replace):
            with pytest.raises((TypeError, ValueError), match=name):
                way(made, **{name: 1})


def test_a_class_that_makes_itself_is_replaced_by_its_own_way() -> None:
    class Lot:
        number: str

        def __init__(self, number: str) -> None:
            object.__setattr__(self, "number", number.lower())

    made: Any = plain.dataclass(frozen=True, init=False)(Lot)

    assert plain.replace(made("7A"), number="8B") == made("8b")
    assert plain.replace(made("7A")) == made("7a")


def test_no_class_of_the_house_is_declared_the_dear_way() -> None:
    source = Path(plain.__file__).parent
    dear = re.compile(r"^from dataclasses import .*\bdataclass\b|^import dataclasses", re.MULTILINE)

    assert [path.name for path in source.rglob("*.py") if dear.search(path.read_text("utf-8"))] == ["plain.py"]
