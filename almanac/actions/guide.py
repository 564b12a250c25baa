"""The grower's guide that ships with the program: its chapters in reading order, and the text of one."""

from __future__ import annotations

import re
from importlib.resources import files

from almanac.faults import Fact, Refusal, nearest
from almanac.plain import dataclass

CHAPTERS = (
    *("start", "phone", "rounds", "frost", "winter", "methods", "gnats", "lamps", "weaning", "pots"),
    *("room", "selling", "strike", "paper", "rules", "files", "settings", "events", "json"),
)
_TO_CHAPTER = re.compile(r"\[([^\]]+)\]\((\w+)\.md\)")


@dataclass(frozen=True, kw_only=True)
class Chapter:
    """A chapter: the name it is called by, the question it answers, its text in Markdown."""

    name: str
    question: str
    text: str


def chapter(name: str) -> Chapter:
    """A chapter by its name, links to others as their names alone.

    Raises:
        Refusal: there is none of that name
    """
    if name not in CHAPTERS:
        raise Refusal(Fact("no_chapter", name=name, near=nearest(name, CHAPTERS), known=CHAPTERS))
    text = (files("almanac") / "guide" / f"{name}.md").read_text(encoding="utf-8")
    question = " ".join(text.split("\n\n")[1].split())
    return Chapter(name=name, question=question, text=_TO_CHAPTER.sub(r"\1", text))


def chapters() -> tuple[Chapter, ...]:
    """All of them, in the order in which they are best read."""
    return tuple(chapter(name) for name in CHAPTERS)
