"""What `--json` prints of a value: its keys in the order named, each in one way of writing."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from importlib import import_module
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest

import almanac.terminal
from almanac.terminal.encoded import Shape, encoded


@dataclass(frozen=True)
class Bag:
    lot: str
    day: date | None
    bin: str = ""
    share: float | None = None
    inside: tuple[Bag, ...] = ()


STICK = Shape(Bag, "lot date=day")
BAG = Shape(Bag, "lot date=day bin? share:2 inside first", inside=STICK, first=lambda bag: bag.lot[0])


def test_a_value_has_its_keys_in_the_order_named_and_null_where_nothing_is_known() -> None:
    bag = Bag("7a", date(2027, 2, 1), share=0.12345, inside=(Bag("7b", None),))

    told = json.dumps(BAG(bag), default=encoded)

    inside = '[{"lot": "7b", "date": null}]'
    assert told.startswith('{"lot": "7a", "date": "2027-02-01", "bin": null, "share": 0.12, ')
    assert told.endswith(f'"inside": {inside}, "first": "7"}}')
    assert (BAG(None), BAG(()), STICK(iter([bag]))) == (None, [], [STICK(bag)])
    assert BAG(Bag("7a", None))["share"] is None


def test_days_moments_spans_and_mappings_are_written_in_one_way() -> None:
    values = (date(2027, 2, 1), datetime(2027, 2, 1, 7, 5, tzinfo=UTC), timedelta(days=9), MappingProxyType({"a": 1}))

    assert json.dumps(values, default=encoded) == '["2027-02-01", "2027-02-01T07:05:00+00:00", 9, {"a": 1}]'
    with pytest.raises(TypeError, match="no way to write"):
        encoded({1, 2})


def shapes() -> Iterator[tuple[str, Shape[Any]]]:
    for path in sorted(Path(almanac.terminal.__path__[0]).glob("[a-z]*.py")):
        for name, value in vars(import_module(f"almanac.terminal.{path.stem}")).items():
            if isinstance(value, Shape):
                yield f"{path.stem}.{name}", value


def test_every_key_names_a_field_that_its_type_has() -> None:
    there = dict(shapes())

    assert len(there) > 30
    for name, shape in there.items():
        for field in shape.fields:
            own = field.split(".")[0]
            assert any(
                hasattr(each, own) or own in vars(each).get("__annotations__", ()) for each in shape.of.__mro__[:-1]
            ), (
                name,
                field,
            )
