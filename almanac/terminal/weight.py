"""Weight for what is due and what is late: marks that the shell draws on a terminal or leaves out. Pure.

It never says anything that the words do not say.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final, Literal

Pressing = Literal["due", "late"]
Weigh = Callable[[str, Pressing], str]
# Signs that no writing uses, and how a terminal draws what they begin and end.
_BEGIN: Final[dict[Pressing, str]] = {"due": "\ue000", "late": "\ue001"}
_END: Final = "\ue002"
DRAWN: Final = {ord("\ue000"): "\x1b[1m", ord("\ue001"): "\x1b[1;31m", ord("\ue002"): "\x1b[0m"}


def plain(text: str, what: Pressing) -> str:
    """The text as it is."""
    return text


def marked(text: str, what: Pressing) -> str:
    """The text between marks."""
    return f"{_BEGIN[what]}{text}{_END}"


def weighed(lines: Sequence[str], what: Pressing, weigh: Weigh) -> list[str]:
    """Lines, each for itself, so that no weight runs over a line's end."""
    return [weigh(line, what) for line in lines]
