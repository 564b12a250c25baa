"""What a run of `calendar` wrote, or would write. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from almanac.terminal.recorded import CHANGES, moves

if TYPE_CHECKING:
    from almanac.actions.refresh import Refreshed


def written_text(done: Refreshed) -> str:
    """What changed, by the titles of entries, and where it stands; no path means that nothing was written."""
    made, changes = done.publication, done.publication.changes
    head = f"{made.entries} entries" + (" in:" if done.written else "; nothing was written (--dry-run).")
    lines = [head, *(f"  {path}" for path in done.written)]
    if changes.moved or changes.added or changes.removed:
        lines += moves(changes, done.reading.plan.as_of, titles=made.titles)
    if count := len(made.reworded):
        lines += [f"{count} entr{'ies say' if count > 1 else 'y says'} something new on the same day."]
    return "\n".join(lines if len(lines) > 1 + len(done.written) else [*lines, "Nothing changed."]) + "\n"


def written_json(done: Refreshed) -> dict[str, Any]:
    made, written = done.publication, [str(path) for path in done.written]
    return {"written": written, "entries": made.entries, **CHANGES(made.changes), "reworded": made.reworded}
