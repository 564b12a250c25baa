"""Which facts are told where, by the text of the program."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

PACKAGE = Path(__file__).parents[1] / "almanac"


def facts_made(files: Iterator[Path]) -> Iterator[tuple[str, frozenset[str], str]]:
    """Each `Fact("kind", name=…)` in some files: its kind, the names of its values, where it stands."""
    for file in files:
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Fact":
                where = f"{file.relative_to(PACKAGE)}:{node.lineno}"
                assert len(node.args) == 1, f"{where}: the kind alone stands without a name"
                names = frozenset(word.arg or "**" for word in node.keywords)
                for kind in _kinds(node.args[0]):
                    yield kind, names, where


def _kinds(word: ast.expr) -> Iterator[str]:
    """The kind, or either of two."""
    if isinstance(word, ast.IfExp):
        yield from _kinds(word.body)
        yield from _kinds(word.orelse)
    elif isinstance(word, ast.Constant) and isinstance(word.value, str):
        yield word.value
    else:
        raise AssertionError(f"a kind is written out, so that its sentence is found: {ast.unparse(word)}")
