"""The next step of a young nursery after what a command tells, as a line for a person and as a key of JSON. Pure."""

from __future__ import annotations

from typing import Any

from almanac.faults import Fact
from almanac.terminal.table import paragraph


def with_next(text: str, data: dict[str, Any], step: Fact | None) -> tuple[str, dict[str, Any]]:
    """What is told, with the next step at its end; `next_step` is null where there is none."""
    if step is None:
        return text, data | {"next_step": None}
    from almanac.words.faults import fact_text  # with every other sentence; few nurseries are young

    told = fact_text(step)
    return "\n".join([text, *paragraph(f"Next: {told}")]) + "\n", data | {"next_step": told}
