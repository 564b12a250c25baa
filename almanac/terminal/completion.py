"""What was done so that a shell completes, for the person who asked for it. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path


def installed_text(shell: str, written: Sequence[Path]) -> str:
    """Which files say it, and how to try it."""
    script, *read_by = written
    lines = [f"{shell} completes stickdate in each new terminal. Try: stickdate log l<Tab>", f"  {script}"]
    lines += [f"  {path} (a line at its end reads it)" for path in read_by]
    return "\n".join([*lines, "Take it away with: stickdate completion --remove"]) + "\n"


def removed_text(gone: Sequence[Path]) -> str:
    """Which files no longer say it."""
    return "\n".join(["Taken away:", *(f"  {path}" for path in gone)] if gone else ["It was not there."]) + "\n"
