"""The text of a rule file to start from: a shipped one to change, or a new one like another. Pure.

Instead of a template of its own for each kind, which would fall behind: the text of a rule file that is there, with its
order and its comments. What is taken over is never passed off as known: its sources become `own`, its notes say whose.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

from almanac.rulebook.changes import OWN

_HEADER = re.compile(r"\s*\[")
_KEY = re.compile(r"([A-Za-z_][\w.]*) = ")
_TEXT = r'"(?:[^"\\]|\\.)*"'
_SOURCE = re.compile(rf"\b((?:taking_)?source) = {_TEXT}")
_NOTE = re.compile(rf"\bnote = {_TEXT}")
_ID = re.compile(r'id = "(\w+)"')
_STAYS = {"task": "id", "milestone": "name"}  # by these the items of both files meet
_SAID = ("taking", "disease", "beside")  # what a crop's own sentences are about

_CARE = """\
id = "{stem}"
title = "{title}"

# A task, as an example; every field is explained in the schema, which your editor shows. Take the # away to have it.
# [[task]]
# id = "{stem}_look"
# title = "What to look for"
# kind = "look"  # look | do | window | deadline | treat
# while_in = "rooting"  # store | rooting | pot | outside
# after = "stuck"  # the event or milestone it counts from
# first_day = 3
# every_days = 7
# checklist = ["one thing to look for", "another"]
# log = "log looked {{lot}}"
# source = "own"
"""


def changing(text: str, schema: str) -> str:
    """A file that changes a shipped one: all of it to see, every value behind a #, so that it changes nothing yet.

    Args:
        text: of the shipped file
        schema: the line that names its schema
    """
    lines = [schema, "# Take the # away from a value to change it; what stands behind one stays as it ships.", ""]
    table = ""
    for line in text.splitlines():
        key = _KEY.match(line)
        if _HEADER.match(line) and not line.startswith((" ", "\t", "]")):
            table = line.strip("[] ")
            lines.append(line)
        elif line.startswith("#"):
            lines.append(f"#{line}")
        elif not line.strip() or (key and _STAYS.get(table) == key[1]):
            lines.append(line)
        else:
            lines.append(f"# {line}")
    return "\n".join(lines).rstrip() + "\n"


def like(kind: str, text: str, stem: str, other: str, schema: str) -> str:
    """A new file with the values of another, to be changed one by one.

    Args:
        kind: crop, method or care
        text: of the other file
        stem: the id of the new one
        other: that of the other
        schema: the line that names its schema
    """
    title = in_words(stem)
    tasks = _task_ids(text)
    lines = [schema, *_head(title, other, tasks=kind == "care"), ""]
    for line in _without_head(text):
        key = _KEY.match(line)
        if line.startswith("#"):
            lines.append(line)
            continue
        line = _SOURCE.sub(rf'\1 = "{OWN}"', _NOTE.sub(f'note = "As {other}."', line))
        if key and key[1] in _SAID:
            line = line.replace('"', f'"As {other}: ', 1)
        if not any(_HEADER.match(each) for each in lines):  # the keys of the file itself
            line = line.replace(f'id = "{other}"', f'id = "{stem}"')
            line = f'title = "{title}"' if key and key[1] == "title" else line
            line = f'botanical = "{title}"  # its botanical name' if key and key[1] == "botanical" else line
        for task in tasks if key and key[1] in ("id", "waits_for") else ():
            line = line.replace(f'"{task}"', f'"{stem}_{task}"')
        lines.append(line)
    return "\n".join(lines).rstrip() + "\n"


def care(stem: str, schema: str) -> str:
    """A care file of one's own, with a task as an example."""
    return f"{schema}\n# Care of your own. {_CHECK}\n\n{_CARE.format(stem=stem, title=in_words(stem))}"


_CHECK = "`stickdate rules check` says what is wrong with it."


def _head(title: str, other: str, *, tasks: bool) -> Iterator[str]:
    yield f"# {title}. Every value is still that of {other}: go through them, and name beside each where yours is from"
    yield f"# (a source in sources.toml; `own` stands for your own). {_CHECK}"
    if tasks:
        yield f"# Its tasks are asked for beside those of {other}: take away what is asked there already."


def in_words(stem: str) -> str:
    """An id as a title."""
    return stem.replace("_", " ").capitalize()


def _without_head(text: str) -> list[str]:
    """A file's lines without the comment it opens with, which is about that file."""
    lines = text.splitlines()
    while lines and (not lines[0].strip() or lines[0].startswith("#")):
        lines.pop(0)
    return lines


def _task_ids(text: str) -> list[str]:
    """The ids of a file's tasks, which are another file's and cannot be given again."""
    lines = text.splitlines()
    after = [line for header, line in pairwise(lines) if header.strip() == "[[task]]"]
    return [found[1] for line in after if (found := _ID.match(line))]
