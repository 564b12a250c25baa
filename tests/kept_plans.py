"""Plans that several tests of one process ask for are made once.

A plan is pure: the same files on the same day, after the same feeds, have the same one. What tells two nurseries apart
is all that a plan may read, as bytes; rules are the same only if they are the same object. While it is watched which
test runs which line (`tests.planted`), each test makes its own.
"""

from __future__ import annotations

import copyreg
import io
import os
import pickle
from dataclasses import fields
from types import MappingProxyType
from typing import Any

from almanac.nursery.nursery import Nursery
from almanac.plan.build import NO_PAST, build_plan
from almanac.plan.model import Plan
from almanac.plan.past import Past
from almanac.rulebook.book import Rulebook

_MOST = 256  # of the last that were asked for: those that ask for the same stand together
_UNREAD = ("folder", "book", "notices", "apart", "missing")  # by a plan; rules are told apart by themselves
_READ = tuple(field.name for field in fields(Nursery) if field.name not in _UNREAD)
_KEPT: dict[tuple[int, bytes], tuple[Rulebook, Plan]] = {}


def _in_bytes(sealed: MappingProxyType[Any, Any]) -> tuple[type, tuple[dict[Any, Any]]]:
    return dict, (dict(sealed),)  # nothing is made of these bytes again


class _Pickler(pickle.Pickler):
    """Writes mappings as frozen classes hold them, too: it alone, or the program could copy here what it cannot."""

    dispatch_table = copyreg.dispatch_table | {MappingProxyType: _in_bytes}


def _bytes(found: object) -> bytes:
    buffer = io.BytesIO()
    _Pickler(buffer).dump(found)
    return buffer.getvalue()


def kept_plan(nursery: Nursery, past: Past = NO_PAST) -> Plan:
    """What `build_plan` gives, made only if it was not made a short while ago."""
    if "STICKDATE_WATCHED" in os.environ:
        return build_plan(nursery, past)
    try:
        key = id(nursery.book), _bytes(([getattr(nursery, name) for name in _READ], past))
    except AttributeError:  # a frost table of monthly means works its dates out, and cannot be told apart
        return build_plan(nursery, past)
    found = _KEPT.pop(key, None) or (nursery.book, build_plan(nursery, past))
    _KEPT[key] = found
    for oldest in list(_KEPT)[:-_MOST]:
        _KEPT.pop(oldest, None)  # a page's threads may be at it, too
    return found[1]
