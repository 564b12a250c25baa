"""What in a nursery's files is older than the program, and the bringing up to it; nothing of it is a fault.

A key that later versions know is missed by nobody; a column or an editor's schema is, as one would look for them there.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from almanac.actions.mend import replaced
from almanac.actions.schemas import schemas, write_schemas
from almanac.actions.writing import locked
from almanac.faults import Fact
from almanac.nursery.load import text_of
from almanac.nursery.tables import header_of
from almanac.nursery.varieties import COLUMNS
from almanac.nursery.varieties import FILE as VARIETIES
from almanac.rulebook.schema import FOLDER


def outdated(folder: Path) -> list[Fact]:
    """What is older than the program. Writes nothing."""
    facts = []
    if lacking := _lacking(folder):
        facts.append(Fact("columns_later", file=VARIETIES, columns=tuple(lacking)))
    if older := [f"{FOLDER}/{name}" for name in _older_schemas(folder)]:
        facts.append(Fact("schemas_older", files=tuple(older)))
    return facts


def renewed(folder: Path, now: datetime) -> tuple[list[Fact], list[str]]:
    """Bring it up to the program: what was done, and under which names what was replaced is kept.

    Raises:
        MachineTrouble, OSError: a file cannot be written; what was there is there still
    """
    done, kept = [], []
    with locked(folder, now, None):
        if lacking := _lacking(folder):
            kept += replaced(folder / VARIETIES, _with_columns(folder / VARIETIES, lacking), now)
            done.append(Fact("columns_added", file=VARIETIES, columns=tuple(lacking)))
        if older := list(_older_schemas(folder)):
            every = schemas(folder)
            write_schemas(folder / FOLDER, {name: every[name] for name in older})
            done.append(Fact("schemas_renewed", files=tuple(f"{FOLDER}/{name}" for name in older)))
    return done, kept


def _lacking(folder: Path) -> list[str]:
    text = text_of(folder / VARIETIES, [])
    header = header_of(text) if text else []
    return [name for name in COLUMNS if name not in header] if {"number", "name", "crop"} <= set(header) else []


def _with_columns(path: Path, names: list[str]) -> bytes:
    """The file with more columns in its first line: a row that is shorter than that has them blank."""
    before, end, after = path.read_bytes().partition(b"\n")
    line = before.rstrip(b"\r")
    return line + "".join(f",{name}" for name in names).encode() + before[len(line) :] + end + after


def _older_schemas(folder: Path) -> Iterator[str]:
    there = {path.name: path for path in (folder / FOLDER).glob("*.json")}
    for name, schema in schemas(folder).items() if there else ():
        if name in there and _read(there[name]) != json.loads(json.dumps(schema)):
            yield name


def _read(path: Path) -> object:
    try:
        return json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
