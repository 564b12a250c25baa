"""What tells two values apart, as bytes, for what tests keep from one another: equal bytes, equal values.

All fields count, those too that a comparison passes over; what a value has worked out for itself meanwhile does not.
"""

from __future__ import annotations

import io
import marshal
import pickle
from dataclasses import fields, is_dataclass
from functools import cache
from types import FunctionType, MappingProxyType
from typing import Any

from almanac.worked_out import WorkedOut

CANNOT = (pickle.PicklingError, AttributeError, TypeError, ValueError)


def told(*values: object) -> bytes:
    """The bytes of some values.

    Raises:
        one of CANNOT: there is something among them that cannot be told apart
    """
    buffer = io.BytesIO()
    _Teller(buffer).dump(values)
    return buffer.getvalue()


class _Teller(pickle.Pickler):
    """Nothing is made of its bytes again."""

    def __init__(self, buffer: io.BytesIO) -> None:
        super().__init__(buffer, pickle.HIGHEST_PROTOCOL)

    def reducer_override(self, value: Any) -> Any:
        if isinstance(value, WorkedOut):
            return WorkedOut, ()
        if isinstance(value, MappingProxyType):  # as frozen classes hold their mappings
            return dict, (dict(value),)
        if isinstance(value, FunctionType) and "<" in value.__qualname__:  # as sites hold what makes their tables
            held = tuple(cell.cell_contents for cell in value.__closure__ or ())
            return tuple, ((marshal.dumps(value.__code__), value.__defaults__, held),)
        if is_dataclass(value) and not isinstance(value, type):
            return type(value), tuple(getattr(value, name) for name in _names(type(value)))
        return NotImplemented


@cache
def _names(kind: Any) -> tuple[str, ...]:
    return tuple(each.name for each in fields(kind))
