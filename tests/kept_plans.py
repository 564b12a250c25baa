"""Plans that several tests of one process ask for are made once, and so is what of one plan holds for others as well.

A plan is pure: the same files on the same day, after the same feeds, have the same one. What tells two nurseries apart
is all that a plan reads, as bytes; rules are the same only if they are the same object. So it is with the weeks in
which wood may be stuck, which are two fifths of a plan and the same on the morning after, and with how plants harden
from a day on. `test_kept_plans.py` shows that nothing else is read. While it is watched which test runs which line
(`tests.planted`), each test makes its own.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import fields
from typing import Any, Generic, TypeVar
from unittest.mock import patch

from almanac.forecast.model import Surroundings
from almanac.nursery.nursery import Nursery
from almanac.plan.build import NO_PAST, build_plan
from almanac.plan.context.winters import Outdoors
from almanac.plan.model import Plan
from almanac.plan.past import Past
from almanac.plan.wood.bare import Collecting
from almanac.plan.wood.sticking import Sticking, sticking
from almanac.rulebook.book import Rulebook
from almanac.worked_out import WorkedOut
from tests.told import CANNOT, told

READ = (
    "settings",
    "place",
    "nights",
    "varieties",
    "stock",
    "as_of",
    "orders",
)  # of a nursery, by a plan, besides rules
# Of surroundings what site, rules and settings settle.
_SETTLED = tuple(each.name for each in fields(Surroundings) if each.default_factory is WorkedOut)
_OF = TypeVar("_OF")


class Kept(Generic[_OF]):
    """The last so many that were asked for: those that ask for the same stand together."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._found: dict[tuple[int, bytes], tuple[Rulebook, _OF]] = {}  # rules that are held cannot be other ones

    def of(self, book: Rulebook, key: bytes, make: Callable[[], _OF]) -> _OF:
        found = self._found.pop((id(book), key), None) or (book, make())
        self._found[id(book), key] = found
        for oldest in list(self._found)[: -self._most]:
            self._found.pop(oldest, None)  # a page's threads may be at it, too
        return found[1]


_PLANS: Kept[Plan] = Kept(256)
_STICKINGS: Kept[Sticking] = Kept(2048)
_OF_SITE: Kept[dict[str, Any]] = Kept(64)
_LAST: list[tuple[Outdoors, bytes]] = []


def kept_plan(nursery: Nursery, past: Past = NO_PAST) -> Plan:
    """What `build_plan` gives, made only if it was not made a short while ago."""
    if "STICKDATE_WATCHED" in os.environ:
        return build_plan(nursery, past)
    try:
        key = told(*(getattr(nursery, name) for name in READ), past)
    except CANNOT:
        return build_plan(nursery, past)
    return _PLANS.of(nursery.book, key, lambda: build_plan(nursery, past))


def kept_sticking(collect: Collecting, outdoors: Outdoors, method: str = "") -> Sticking:
    """What `sticking` gives, likewise."""
    try:
        key = told(collect, method) + of_outdoors(outdoors)
    except CANNOT:
        return sticking(collect, outdoors, method)
    return _STICKINGS.of(outdoors.around.book, key, lambda: sticking(collect, outdoors, method))


def of_outdoors(outdoors: Outdoors) -> bytes:
    """What tells the surroundings of lots to come apart: no day and no rules, which are told apart by themselves."""
    if not _LAST or _LAST[0][0] is not outdoors:
        ahead = vars(outdoors.ahead) | {"book": None, "workdays": None}
        _LAST[:] = [(outdoors, told(outdoors.place, outdoors.nights, outdoors.signs, ahead))]
    return _LAST[0][1]


def _surroundings(**values: Any) -> Surroundings:
    """Surroundings of one site with one kit, which share what was worked out of these alone."""
    book, settings, nights = values["book"], values["settings"], values["nights"]
    shared: dict[str, Any] = {}
    with suppress(*CANNOT):
        shared = _OF_SITE.of(book, told(settings, nights), lambda: {name: WorkedOut() for name in _SETTLED})
    return Surroundings(**values, **shared)


@contextmanager
def planned_once() -> Iterator[None]:
    """Commands, pages and feeds take what was planned before, as far as it is the same."""
    with ExitStack() as around:
        around.enter_context(patch("almanac.actions.look.build_plan", kept_plan))
        if "STICKDATE_WATCHED" not in os.environ:
            around.enter_context(patch("almanac.plan.wood.sticking.sticking", kept_sticking))
            around.enter_context(patch("almanac.forecast.history.Surroundings", _surroundings))
        yield
