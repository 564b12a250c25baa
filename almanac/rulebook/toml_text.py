"""A TOML file as a grower wrote it: its document, the line of each key, what of it cannot be read."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any, Literal

from almanac.faults import Fact, Fault, clipped

Loc = tuple[int | str, ...]
# No number of a file is larger; without the bound a day counted from another could fall out of the calendar.
_LARGEST = 100_000
# What the TOML reader says of the slips that growers make; it tells its errors apart by their text alone.
_SYNTAX: dict[str, Literal["quote", "value", "statement"]] = {
    "Illegal character '\\n'": "quote",
    "Unterminated string": "quote",
    "Invalid value": "value",
    "Invalid statement": "statement",
    "Expected '=' after a key in a key/value pair": "statement",
}


def read_toml(data: bytes, file: str) -> tuple[str, dict[str, Any] | None, list[Fault]]:
    """A TOML file's text, its document, and its faults; the document is None where it cannot be read at all."""
    import tomllib  # it costs start-up time, and most files were seen before

    try:
        text = data.decode("utf-8-sig")
        document = tomllib.loads(text)
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        return "", None, [Fault(file=file, fact=Fact("toml_not_utf8"), line=line)]
    except tomllib.TOMLDecodeError as error:
        message, _, place = str(error).partition(" (at ")
        number = re.match(r"line (\d+)", place)
        line = int(number[1]) if number else len(text.rstrip().split("\n"))
        message = re.sub(r"\(('.*'),?\)", lambda keys: ".".join(re.findall(r"'([^']*)'", keys[1])), message)
        slip = _SYNTAX.get(message, "other")
        return text, None, [Fault(file=file, fact=Fact("not_toml", slip=slip, said=message), line=line)]
    except (ValueError, RecursionError):  # digits without end, brackets within brackets without end
        return text, None, [Fault(file=file, fact=Fact("toml_without_end"))]
    return text, document, []


def too_large(file: str, document: object, line: Callable[[Loc], int | None]) -> list[Fault]:
    """A fault for each number too large for any key."""
    return [
        Fault(file=file, fact=Fact("number_too_large", most=_LARGEST), line=line(loc), key=key_in_words(loc, document))
        for loc, value in leaves(document)
        if isinstance(value, int | float) and abs(value) > _LARGEST
    ]


def leaves(value: Any, loc: Loc = ()) -> Iterator[tuple[Loc, Any]]:
    """Every value of a document that is neither list nor table, with the way to it."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from leaves(inner, (*loc, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from leaves(inner, (*loc, number))
    else:
        yield loc, value


def key_in_words(loc: Loc, document: object) -> str:
    """`bin 'A', mat` for ("bin", 0, "mat"): list items go by their own name, else by number from 1."""
    words: list[str] = []
    here: Any = document
    for part in loc:
        here = _inside(here, part)
        if isinstance(part, int):
            name = here.get("id") or here.get("name") if isinstance(here, dict) else None
            words[-1] += f" '{clipped(name)}'" if isinstance(name, str) and name else f" {part + 1}"
        else:
            words.append(clipped(part))
    return ", ".join(words)


def _inside(here: Any, part: Any) -> Any:
    try:
        return here[part] if isinstance(here, dict | list) else None
    except (KeyError, IndexError, TypeError):
        return None


_HEADER = re.compile(r"\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(?:#.*)?$")


def line_of(text: str, loc: Loc) -> int | None:
    """The line of a TOML key, from 1: of the key itself where it stands on its own line, else of what holds it."""
    path = [part for part in loc if isinstance(part, str)]
    wanted = [part for part in loc if isinstance(part, int)]
    counts: dict[str, int] = {}
    table: list[str] = []
    best: tuple[int, int] | None = None
    in_items = True
    for number, line in enumerate(text.split("\n"), 1):
        header = _HEADER.match(line)
        if header:
            name = re.sub(r"['\"\s]", "", header[2])
            table = name.split(".")
            if header[1] == "[[":
                counts[name] = counts.get(name, -1) + 1
            root = table[0]
            in_items = root not in counts or not wanted or counts[root] == wanted[0]
            depth = _shared(table, path) if in_items and _shared(table, path) == len(table) else 0
        elif in_items and _shared(table, path) == len(table):
            key = line.split("=")[0].strip().strip("\"'") if "=" in line else ""
            keys = [part.strip().strip("\"'") for part in key.split(".")]
            rest = path[len(table) :]
            depth = len(table) + len(keys) if keys == rest[: len(keys)] else 0
        else:
            depth = 0
        if depth and (best is None or depth > best[0]):
            best = (depth, number)
    return best[1] if best else None


def _shared(one: list[str], other: list[str]) -> int:
    return next((i for i, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), min(len(one), len(other)))
