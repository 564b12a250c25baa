"""From values of a plan to JSON, the one way in which the objects of `--json` are made. Pure.

A `Shape` names the keys of a type, in their order, and stands with the command that shows them. What is no one type's
(a command's answer as a whole) is a plain dict of values; `encoded` writes those that JSON does not know. What a
command prints as `…_text`, its `…_json` says as one object.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, timedelta
from operator import attrgetter
from typing import Any, Generic, TypeVar

T = TypeVar("T")
_KEY = re.compile(r"(?P<key>\w+)(?:=(?P<field>[\w.]+))?(?P<nullable>\??)(?::(?P<digits>\d))?")


class Shape(Generic[T]):
    """How the values of a type stand in JSON.

    Args:
        of: the type
        keys: its keys in order: `lot`, the field of that name; `date=day`, a field of another name, or one of a field's
            own (`free=seat.free`); `bin?`, null where it is empty; `share:4`, rounded to so many decimals
        worked: what some of the keys hold instead: a Shape of what stands in the field, or a function of the whole
    """

    def __init__(self, of: type[T], keys: str, **worked: Shape[Any] | Callable[[T], object]) -> None:
        self.of, self.fields = of, list[str]()
        self._values: dict[str, Callable[[T], object]] = {}
        for word in keys.split():
            told = _KEY.fullmatch(word)
            assert told, word
            self._values[told["key"]] = self._value(told, worked.get(told["key"]))
        assert worked.keys() <= self._values.keys(), worked

    def __call__(self, found: T | Iterable[T] | None) -> Any:
        """A value as an object, several as a list of them; null stays null."""
        if isinstance(found, self.of):
            return {key: value(found) for key, value in self._values.items()}
        return None if found is None else [self(each) for each in found]  # type: ignore[union-attr]

    def _value(self, told: re.Match[str], worked: Shape[Any] | Callable[[T], object] | None) -> Callable[[T], object]:
        if worked is not None and not isinstance(worked, Shape):
            return worked
        self.fields.append(told["field"] or told["key"])
        get = attrgetter(self.fields[-1])
        if worked is not None:
            return lambda found: worked(get(found))
        if told["nullable"]:
            return lambda found: get(found) or None
        if digits := told["digits"]:
            return lambda found: None if (number := get(found)) is None else round(number, int(digits))
        return get


def band(days: Sequence[date | None]) -> dict[str, date | None]:
    """The early, the likely and the late day of what is not yet known."""
    return dict(zip(("early", "likely", "late"), days, strict=True))


def encoded(value: object) -> object:
    """What JSON writes of a value that it does not know, as `json.dumps` asks: ISO dates, days of a span, a mapping."""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, timedelta):
        return value.days
    if isinstance(value, Mapping):
        return dict(value)
    raise TypeError(f"no way to write {value!r}")
