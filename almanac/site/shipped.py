"""The tables that ship with the program: from the folder beside this file, in a wheel as in a checkout."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from almanac.kept import kept

_DATA = Path(__file__).with_name("data")


def shipped(name: str) -> bytes:
    """A file of that folder.

    Raises:
        OSError: it cannot be read
    """
    return (_DATA / name).read_bytes()


def shipped_figures(name: str) -> dict[str, Any]:
    """What a TOML file of that folder holds; as it was kept from an earlier run, if it was."""
    data = shipped(name)
    place = kept(name, [(name, data)], sources=("site/shipped.py",))
    found: dict[str, Any] | None = place.found(json.loads)
    if found is None:
        import tomllib  # it costs start-up time, and most runs find what was kept

        found = tomllib.loads(data.decode())
        place.keep(found, lambda it: json.dumps(it).encode())
    return found
