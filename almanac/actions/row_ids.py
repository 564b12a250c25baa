"""Ids of rows: those the program gives, and those wished for, by which a repeat is known. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from almanac.faults import Fact, Refusal
from almanac.nursery.logbook import Row
from almanac.nursery.nursery import Nursery

# An id that another gives to a row: never one that `next_ids` could give.
_WISHED = re.compile(r"[a-qs-z][a-z0-9]{7,39}")


def numbered(nursery: Nursery, rows: Sequence[Row], wished: str = "") -> list[Row]:
    """The rows with ids of their own; of several the last has the one wished for, so that it says all are there.

    Raises:
        Refusal: what is wished for is no id, or could be one that the program gives
    """
    if not wished:
        ids = nursery.new_ids(len(rows))
    elif _WISHED.fullmatch(wished):
        ids = [*(f"{wished}.{number}" for number in range(1, len(rows))), wished]
    else:
        raise Refusal(Fact("not_row_id", word=wished))
    return [replace(row, id=name) for row, name in zip(rows, ids, strict=True)]


def rows_of_entry(rows: Iterable[Row], row_id: str) -> list[Row]:
    """The rows that were logged under one wished id, each once."""
    stem = _stem(row_id)
    return list({row.id: row for row in rows if stem and _stem(row.id) == stem}.values())


def at_once(one: Row, other: Row) -> bool:
    """Whether two rows were logged by one command or tap."""
    stems = {_stem(one.id), _stem(other.id)} - {""}
    return one is other or (bool(one.logged_at) and one.logged_at == other.logged_at and len(stems) < 2)


def _stem(row_id: str) -> str:
    """What rows logged under one wished id share; nothing of an id that the program gave or a person wrote."""
    stem = row_id.partition(".")[0]
    return stem if _WISHED.fullmatch(stem) else ""
