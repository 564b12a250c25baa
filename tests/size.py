"""How large the program is, room by room: `python -m tests.size [--all]`. For information.

Lines of each folder with what it is for, as its first line says; of them code, docstrings, comments and blank lines.
Then modules above 300 lines, functions above 60 without their docstring, and those through which most ways lead: one,
and one more for each `if`, loop, `except`, `case`, `assert`, `and`, `or`, conditional value, and each `for` and `if` of
a comprehension; what is defined within a function is counted with it.
"""

from __future__ import annotations

import argparse
import ast
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

SOURCE = Path(__file__).parents[1] / "almanac"
LONG_MODULE, LONG_FUNCTION, PARTING = 300, 60, 20
_PARTS = (ast.If, ast.IfExp, ast.For, ast.While, ast.ExceptHandler, ast.match_case, ast.Assert)


@dataclass(frozen=True, kw_only=True)
class Measured:
    """One function: its lines without its docstring, and how many ways lead through it."""

    place: str
    name: str
    lines: int
    ways: int


def modules() -> dict[str, str]:
    """The text of every module by its path beneath the package."""
    return {path.relative_to(SOURCE).as_posix(): path.read_text("utf-8") for path in sorted(SOURCE.rglob("*.py"))}


def ways_through(function: ast.AST) -> int:
    """How many ways lead through a function, as counted here."""
    ways = 1
    for node in ast.walk(function):
        if isinstance(node, _PARTS):
            ways += 1
        elif isinstance(node, ast.BoolOp):
            ways += len(node.values) - 1
        elif isinstance(node, ast.comprehension):
            ways += 1 + len(node.ifs)
    return ways


def functions(tree: ast.Module, place: str) -> Iterator[Measured]:
    """Every function and method of a module; not those within another."""
    homes: list[ast.Module | ast.ClassDef] = [tree, *(node for node in tree.body if isinstance(node, ast.ClassDef))]
    for home in homes:
        inside = f"{home.name}." if isinstance(home, ast.ClassDef) else ""
        for node in home.body:
            if isinstance(node, ast.FunctionDef):
                lines = len(_span(node)) - len(_told(node))
                yield Measured(place=place, name=inside + node.name, lines=lines, ways=ways_through(node))


def _told(node: ast.AST) -> range:
    """The lines of its docstring."""
    if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and ast.get_docstring(node):
        return _span(node.body[0])
    return range(0)


def _span(node: ast.stmt) -> range:
    return range(node.lineno, (node.end_lineno or node.lineno) + 1)


def kinds(text: str, tree: ast.Module) -> Counter[str]:
    """How many lines are code, docstrings, and comments or blank."""
    told = {line for node in ast.walk(tree) for line in _told(node)}
    lines = text.splitlines()
    bare = [n for n, line in enumerate(lines, 1) if n not in told and line.strip()[:1] in ("", "#")]
    code = len(lines) - len(told) - len(bare)
    return Counter(modules=1, lines=len(lines), code=code, told=len(told), bare=len(bare))


def main() -> None:
    """Print the report."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--all", action="store_true", help=f"every function of more than {PARTING // 2} ways")
    least = PARTING // 2 if asked.parse_args().all else PARTING
    rooms: dict[str, Counter[str]] = {}
    told: dict[str, str] = {"": "modules that any room may import"}
    every: list[Measured] = []
    texts = modules()
    for place, text in texts.items():
        tree, room = ast.parse(text), place.rpartition("/")[0].partition("/")[0]
        rooms.setdefault(room, Counter()).update(kinds(text, tree))
        every += functions(tree, place)
        if place == f"{room}/__init__.py":
            told[room] = (ast.get_docstring(tree) or "").partition("\n")[0]
    columns = ("lines", "code", "told", "bare", "modules")
    print("".join(f"{name:>8}" for name in columns), " room")
    for room, found in [*sorted(rooms.items()), ("all", sum(rooms.values(), Counter()))]:
        print("".join(f"{found[name]:8,}" for name in columns), f" {room or 'beside them'}: {told.get(room, '')}")
    lengths = {place: len(text.splitlines()) for place, text in texts.items()}
    print(f"\nmodules above {LONG_MODULE} lines")
    for place in sorted((each for each in lengths if lengths[each] > LONG_MODULE), key=lambda each: -lengths[each]):
        print(f"{lengths[place]:7}  {place}")
    print(f"\nfunctions above {LONG_FUNCTION} lines")
    for each in sorted((each for each in every if each.lines > LONG_FUNCTION), key=lambda each: -each.lines):
        print(f"{each.lines:7}  {each.place}: {each.name}")
    print(f"\nfunctions of {least} ways and more; half of all have {_median(every)} at most")
    for each in sorted((each for each in every if each.ways >= least), key=lambda each: -each.ways):
        print(f"{each.ways:7}  {each.place}: {each.name}")


def _median(every: list[Measured]) -> int:
    return sorted(each.ways for each in every)[len(every) // 2]


if __name__ == "__main__":
    main()
