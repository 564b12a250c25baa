"""Dataclasses that cost little to declare. Pure.

The standard library writes and compiles six functions for each dataclass while its module is read, some 0.4 ms a class,
which was a sixth of a cold `calendar`. Here what every class has alike (to compare, to show, to refuse a change) is one
function for all; the one that differs, `__init__`, is compiled when the first instance is made, and a class is asked
for its fields when somebody first wants them: half of those that a command imports make nothing in it. What a type
checker sees, and what `fields` and `replace` do, is as ever; but what a frozen class holds as a `Mapping` cannot be
written into, not even by those who made it one.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from functools import cache
from operator import attrgetter
from threading import RLock
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
    from dataclasses import replace as replace
else:

    def dataclass(cls=None, /, *, frozen=False, kw_only=False, eq=True, init=True):
        """As `dataclasses.dataclass`, as far as it is wanted here."""

        def declared(cls):
            return _declared(cls, frozen=frozen, kw_only=kw_only, eq=eq, init=init)

        return declared if cls is None else declared(cls)

    def replace(one, /, **changes):
        """As `dataclasses.replace`, in a third of the time: what does not change is not asked for again."""
        sealed = _parts(one.__class__)
        if not sealed or not sealed.keys() >= changes.keys():
            return dataclasses.replace(one, **changes)  # it is made as new ones are, or says what is wrong
        new = object.__new__(one.__class__)
        held, before = new.__dict__, one.__dict__
        for name in sealed:  # not all at once: beside them may stand what was worked out of them
            held[name] = before[name]
        for name, value in changes.items():
            held[name] = _sealed(value) if sealed[name] else value
        return new


_Values = Callable[[Any], tuple[Any, ...]]


def _declared(cls: Any, *, frozen: bool, kw_only: bool, eq: bool, init: bool) -> Any:
    cls._made_here = init
    for name in ("__dataclass_fields__", "__match_args__"):
        setattr(cls, name, _Asked(cls, name, kw_only=kw_only))
    if init:
        cls.__init__ = _first(cls, frozen=frozen)
    if eq and "__eq__" not in cls.__dict__:
        cls.__eq__ = _equal(cls)
        own = cls.__dict__.get("__hash__")
        if own is None:  # none is written: Python takes it away where there is an `__eq__` and it is not given back
            cls.__hash__ = _hash(cls) if frozen else None
    if "__repr__" not in cls.__dict__:
        cls.__repr__ = _shown
    if frozen:
        cls.__setattr__, cls.__delattr__ = _refuse, _refuse
    return cls


_ONE_AT_A_TIME = RLock()  # a server answers in several threads


class _Asked:
    """What the library knows of a class, in whose place this stands until somebody asks for it."""

    def __init__(self, cls: Any, name: str, *, kw_only: bool) -> None:
        self.cls, self.name, self.kw_only = cls, name, kw_only

    def __get__(self, one: object, owner: type) -> Any:
        cls = self.cls
        with _ONE_AT_A_TIME:
            if cls.__dict__[self.name] is self:
                said = cls.__doc__
                cls.__doc__ = said or cls.__name__  # else its signature would be worked out to stand for one
                wanted = dataclasses.dataclass(init=False, repr=False, eq=False, match_args=False, kw_only=self.kw_only)
                by_place = (each.name for each in dataclasses.fields(wanted(cls)) if each.init and not each.kw_only)
                setattr(cls, "__match_args__", tuple(by_place))  # noqa: B010 - mypy takes it for a constant
                cls.__doc__ = said
        return cls.__dict__[self.name]


def _values_of(cls: type) -> _Values:
    """What two of a class are compared by."""
    names = [field.name for field in dataclasses.fields(cls) if field.compare]
    if len(names) > 1:
        return attrgetter(*names)
    return lambda one: tuple(getattr(one, name) for name in names)


def _equal(cls: type) -> Callable[[Any, object], bool]:
    values: _Values | None = None

    def equal(self: Any, other: object) -> bool:
        nonlocal values
        values = values or _values_of(cls)
        return values(self) == values(other) if other.__class__ is self.__class__ else NotImplemented

    return equal


def _hash(cls: type) -> Callable[[Any], int]:
    values: _Values | None = None

    def hashed(self: Any) -> int:
        nonlocal values
        values = values or _values_of(cls)
        return hash(values(self))

    return hashed


def _shown(self: Any) -> str:
    told = (f"{field.name}={getattr(self, field.name)!r}" for field in dataclasses.fields(self) if field.repr)
    return f"{type(self).__qualname__}({', '.join(told)})"


def _refuse(self: object, name: str, *value: object) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")


def _first(cls: Any, *, frozen: bool) -> Any:
    """The `__init__` of a class of which there is no instance yet: it gives way to the real one."""

    def first(self: Any, *args: Any, **values: Any) -> None:
        with _ONE_AT_A_TIME:
            if cls.__dict__["__init__"] is first:
                cls.__init__ = _init_of(cls, frozen=frozen)
        cls.__init__(self, *args, **values)

    return first


_UNSAID = object()


def _sealed(found: Mapping[Any, Any]) -> Mapping[Any, Any]:
    """A mapping as a frozen class holds it: nobody writes into it."""
    return MappingProxyType(found) if isinstance(found, dict) else found


@cache
def _parts(cls: Any) -> dict[str, bool]:
    """What `replace` may take over, and whether it is sealed; nothing where more is done as one is made."""
    fields = dataclasses.fields(cls)
    if not cls._made_here or hasattr(cls, "__post_init__") or not all(field.init for field in fields):
        return {}
    frozen = cls.__setattr__ is _refuse
    return {field.name: frozen and _holds_mapping(field) for field in fields}


def _holds_mapping(field: Any) -> bool:
    return str(field.type).removeprefix("Annotated[").startswith("Mapping[") or field.default_factory is dict


def _init_of(cls: Any, *, frozen: bool) -> Any:
    known: dict[str, Any] = {"_UNSAID": _UNSAID, "_sealed": _sealed}
    by_place: list[str] = ["self"]
    by_name: list[str] = []
    body: list[str] = []
    for field in dataclasses.fields(cls):
        name, value = field.name, field.name
        if field.default_factory is not dataclasses.MISSING:
            known[f"_of_{name}"] = field.default_factory
            value = f"_of_{name}() if {name} is _UNSAID else {name}" if field.init else f"_of_{name}()"
        elif not field.init:
            continue
        taken = name
        if value != name:
            taken = f"{name}=_UNSAID"
        elif field.default is not dataclasses.MISSING:
            known[f"_of_{name}"] = field.default
            taken = f"{name}=_of_{name}"
        if frozen and _holds_mapping(field):
            value = f"_sealed({value})"
        if field.init:
            (by_name if field.kw_only else by_place).append(taken)
        body.append(f"_held[{name!r}] = {value}" if frozen else f"self.{name} = {value}")
    if frozen:  # past `_refuse`, in half the time that `object.__setattr__` takes
        body.insert(0, "_held = self.__dict__")
    if hasattr(cls, "__post_init__"):
        body.append("self.__post_init__()")
    named = ["*", *by_name] if by_name else []
    lines = [f"def __init__({', '.join([*by_place, *named])}):", *(body or ["pass"])]
    exec("\n ".join(lines), known)
    return known["__init__"]
