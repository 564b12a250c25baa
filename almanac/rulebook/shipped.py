"""Where what ships beside the code lies: rules, and the invented nursery. Imports nothing that takes time."""

from __future__ import annotations

from pathlib import Path


def shipped(name: str) -> Path:
    """A folder that ships: inside the package in a wheel, beside it in a checkout."""
    package = Path(__file__).resolve().parent.parent
    inside = package / name
    return inside if inside.is_dir() else package.parent / name
