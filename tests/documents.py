"""Tables of rule files and of nursery.toml, read from what a file would hold."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from almanac.rulebook.checked import checked
from almanac.rulebook.fields import Table

_Of = TypeVar("_Of", bound=Table)


def read(table: type[_Of], document: Mapping[str, Any]) -> _Of:
    """A document in which nothing is wrong."""
    found, slips = checked(table, document)
    assert found is not None, slips
    return found
