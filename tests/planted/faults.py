"""Faults that may be planted in a source file: one constant, comparison, sign or connective changed. Pure.

Drawn from the syntax tree and carried out in the text, so that comments and lines stay where they are. Left out is what
changes nothing that runs (annotations, docstrings) and what would only crash (adding text to text).
"""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

_COMPARE: dict[type[ast.cmpop], tuple[str, str]] = {
    ast.Lt: ("<", "<="),
    ast.LtE: ("<=", "<"),
    ast.Gt: (">", ">="),
    ast.GtE: (">=", ">"),
    ast.Eq: ("==", "!="),
    ast.NotEq: ("!=", "=="),
    ast.In: ("in", "not in"),
    ast.NotIn: (r"not\s+in", "in"),
    ast.Is: ("is", "is not"),
    ast.IsNot: (r"is\s+not", "is"),
}
_ARITHMETIC: dict[type[ast.operator], tuple[str, str]] = {
    ast.Add: (r"\+", "-"),
    ast.Sub: ("-", "+"),
    ast.Mult: (r"\*", "/"),
    ast.Div: ("/", "*"),
}
_CALLS = {"min": "max", "max": "min", "any": "all", "all": "any"}


@dataclass(frozen=True)
class Fault:
    """A stretch of a file's text, from offset to offset, and what stands there instead."""

    path: str
    line: int
    start: int
    end: int
    before: str
    after: str
    in_function: bool

    def planted(self, text: str) -> str:
        assert text[self.start : self.end] == self.before
        return text[: self.start] + self.after + text[self.end :]

    def __str__(self) -> str:
        return f"{self.path}:{self.line}: {self.before!r} to {self.after!r}"


def possible(path: str, text: str) -> Iterator[Fault]:
    """Every fault that can be planted in a file, from top to bottom."""
    lines = [0]
    for line in text.splitlines(keepends=True):
        lines.append(lines[-1] + len(line))
    rows = text.splitlines()

    def offset(row: int, column: int) -> int:
        return lines[row - 1] + len(rows[row - 1].encode()[:column].decode())

    found = (
        Fault(path, text.count("\n", 0, start) + 1, start, end, text[start:end], after, inside)
        for node, inside in _walk(ast.parse(text), inside=False)
        for start, end, after in _changes(node, text, offset)
    )
    yield from sorted(found, key=lambda fault: fault.start)


def _walk(node: ast.AST, *, inside: bool) -> Iterator[tuple[ast.AST, bool]]:
    """The nodes that run, each with whether it stands in a function."""
    yield node, inside
    left_out: set[int] = set()
    for name in ("annotation", "returns", "decorator_list"):
        part = getattr(node, name, None)
        left_out |= {id(each) for each in (part if isinstance(part, list) else [part])}
    within = inside or isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
    for child in ast.iter_child_nodes(node):
        told = isinstance(child, ast.Expr) and isinstance(child.value, ast.Constant)
        named = isinstance(node, ast.Assign) and isinstance(child, ast.Subscript)  # an alias such as Literal[...]
        if id(child) not in left_out and not told and not named and not isinstance(child, ast.JoinedStr):
            yield from _walk(child, inside=within)


def _is_text(node: ast.AST) -> bool:
    return isinstance(node, ast.JoinedStr | ast.Tuple | ast.List | ast.Set | ast.Dict) or (
        isinstance(node, ast.Constant) and isinstance(node.value, str | bytes)
    )


def _changes(node: ast.AST, text: str, at: Callable[[Any, Any], int]) -> Iterator[tuple[int, int, str]]:

    def between(left: ast.expr, right: ast.expr, sign: str, instead: str) -> Iterator[tuple[int, int, str]]:
        start = at(left.end_lineno, left.end_col_offset)
        word = rf"\b{sign}\b" if sign[-1].isalpha() else sign
        match = re.search(word, text[start : at(right.lineno, right.col_offset)])
        if match:
            yield start + match.start(), start + match.end(), instead

    match node:
        case ast.Constant(value=bool() as value):
            yield at(node.lineno, node.col_offset), at(node.end_lineno, node.end_col_offset), str(not value)
        case ast.Constant(value=int() | float() as number):
            new = str(number + max(1, number // 8)) if isinstance(number, int) else repr(number * 1.25 or 0.1)
            yield at(node.lineno, node.col_offset), at(node.end_lineno, node.end_col_offset), new
        case ast.Compare():
            for left, sign, right in zip([node.left, *node.comparators], node.ops, node.comparators, strict=False):
                yield from between(left, right, *_COMPARE[type(sign)])
        case ast.BoolOp():
            words = ("and", "or") if isinstance(node.op, ast.And) else ("or", "and")
            for left, right in zip(node.values, node.values[1:], strict=False):
                yield from between(left, right, *words)
        case ast.BinOp(op=ast.Add() | ast.Sub() | ast.Mult() | ast.Div()):
            if not _is_text(node.left) and not _is_text(node.right):
                yield from between(node.left, node.right, *_ARITHMETIC[type(node.op)])
        case ast.UnaryOp(op=ast.USub() | ast.Not()):
            start = at(node.lineno, node.col_offset)
            yield start, start + (1 if isinstance(node.op, ast.USub) else len("not ")), ""
        case ast.Call(func=ast.Name(id=name)) if name in _CALLS:
            yield at(node.lineno, node.col_offset), at(node.lineno, node.col_offset) + len(name), _CALLS[name]
