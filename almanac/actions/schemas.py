"""The JSON schemas of a nursery's files, written where an editor finds them."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from almanac.disk import write_whole
from almanac.nursery.settings import Settings
from almanac.rulebook.schema import NURSERY, rule_schemas, schema_of


def schemas() -> dict[str, dict[str, Any]]:
    """Every schema by the name of its file."""
    return {NURSERY: schema_of(Settings), **rule_schemas()}


def write_schemas(folder: Path, found: Mapping[str, dict[str, Any]] | None = None) -> list[Path]:
    """Write schemas into a folder, all of them if none are named; an older one of the same name goes.

    Raises:
        OSError: they cannot be written
    """
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, schema in (schemas() if found is None else found).items():
        path = folder / name
        write_whole(path, (json.dumps(schema, indent=1, ensure_ascii=False) + "\n").encode())
        written.append(path)
    return written
