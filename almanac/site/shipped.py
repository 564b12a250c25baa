"""The tables that ship with the program, as bytes: from the folder beside this file, in a wheel as in a checkout."""

from __future__ import annotations

from pathlib import Path

_DATA = Path(__file__).with_name("data")


def shipped(name: str) -> bytes:
    """A file of that folder.

    Raises:
        OSError: it cannot be read
    """
    return (_DATA / name).read_bytes()
