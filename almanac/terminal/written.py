"""What a run of `calendar` wrote, or would write. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from almanac.plan.changes import Changes
from almanac.plan.ids import EntryId
from almanac.terminal.recorded import CHANGES, moves


def written_text(
    changes: Changes,
    reworded: Sequence[str],
    entries: int,
    paths: Sequence[str],
    as_of: date,
    titles: Mapping[EntryId, str],
) -> str:
    """What changed, by the titles of entries, and where it stands; no path means that nothing was written."""
    head = f"{entries} entries" + (" in:" if paths else "; nothing was written (--dry-run).")
    lines = [head, *(f"  {path}" for path in paths)]
    lines += moves(changes, as_of, titles=titles) if changes.moved or changes.added or changes.removed else []
    if reworded:
        lines += [f"{len(reworded)} entr{'ies say' if len(reworded) > 1 else 'y says'} something new on the same day."]
    return "\n".join(lines if len(lines) > 1 + len(paths) else [*lines, "Nothing changed."]) + "\n"


def written_json(changes: Changes, reworded: Sequence[str], entries: int, paths: Sequence[str]) -> dict[str, Any]:
    """The same as one object."""
    return {"written": paths, "entries": entries, **CHANGES(changes), "reworded": reworded}
