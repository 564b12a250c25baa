"""The JSON schemas of a nursery's files, written where an editor finds them."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from almanac.disk import write_whole
from almanac.nursery.events import EVENTS
from almanac.nursery.settings import Settings
from almanac.rulebook.agreement import names_known
from almanac.rulebook.load import load_rules
from almanac.rulebook.schema import NURSERY, Names, rule_schemas, schema_of


def names_in(folder: Path | None) -> Names:
    """What the rules of a nursery name, its own too while they have no fault: for an editor to offer."""
    book = load_rules(folder / "rules" if folder else None, EVENTS)[0] or load_rules(None, EVENTS)[0]
    return names_known(book, EVENTS) if book else {}


def schemas(nursery: Path | None = None) -> dict[str, dict[str, Any]]:
    """Every schema by the name of its file; `nursery` is the folder of the one whose names they offer."""
    return {NURSERY: schema_of(Settings), **rule_schemas(names_in(nursery))}


def write_schemas(folder: Path, found: Mapping[str, dict[str, Any]]) -> list[Path]:
    """Write schemas into a folder; an older one of the same name goes.

    Raises:
        OSError: they cannot be written
    """
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, schema in found.items():
        path = folder / name
        write_whole(path, (json.dumps(schema, indent=1, ensure_ascii=False) + "\n").encode())
        written.append(path)
    return written
