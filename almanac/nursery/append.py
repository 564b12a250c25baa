"""The one way a row gets into `logbook.csv` or `orders.csv` and its copy: whole lines, on the disk on return."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Callable, Iterable, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, replace
from pathlib import Path

from almanac.nursery import logbook, order_rows
from almanac.nursery.logbook import Row, header_of, torn_tail
from almanac.nursery.order_rows import OrderRow


@dataclass(frozen=True)
class _File:
    """A table that is only ever added to, its copy, and where a line cut short is set aside."""

    name: str
    backup: str
    torn: str
    columns: tuple[str, ...]
    cut_short: Callable[[str], str]


_LOGBOOK = _File(logbook.FILE, logbook.BACKUP, logbook.TORN, logbook.COLUMNS, torn_tail)
_ORDERS = _File(order_rows.FILE, order_rows.BACKUP, order_rows.TORN, order_rows.COLUMNS, order_rows.cut_short)


def append(folder: Path, rows: Sequence[Row], *, backed_up: bool = False) -> str:
    """Write rows to logbook and backup, each in one whole write, to the disk. The caller holds the nursery's lock.

    Both files are opened before either is written, so that a file that cannot be written leaves both as they were.
    `backed_up` says that the backup holds the rows already.

    Returns:
        the torn line that was set aside, empty where there was none
    Raises:
        OSError: a file cannot be written; nothing was
    """
    return _append(folder, _LOGBOOK, [row.cells() for row in rows], backed_up=backed_up)


def as_read(rows: Sequence[Row]) -> list[Row]:
    """Rows as they are read again once they are written."""
    cells = [row.cells() for row in rows]
    text = _table(logbook.COLUMNS, logbook.COLUMNS, [logbook.COLUMNS, *cells]).decode()
    return [replace(row, line=0) for row in logbook.read_rows(text)[0]]


def append_orders(folder: Path, rows: Sequence[OrderRow], *, backed_up: bool = False) -> str:
    """The same for rows of `orders.csv`."""
    return _append(folder, _ORDERS, [row.cells() for row in rows], backed_up=backed_up)


def _append(folder: Path, file: _File, rows: Sequence[tuple[str, ...]], *, backed_up: bool) -> str:
    names = (file.name,) if backed_up else (file.name, file.backup)
    with ExitStack() as stack:
        handles = []
        for name in names:
            handle = os.open(folder / name, os.O_APPEND | os.O_WRONLY | os.O_CREAT, 0o644)
            stack.callback(os.close, handle)
            handles.append(handle)
        torn, _ = (_set_aside_torn(folder / name, file, folder / file.torn) for name in (file.name, file.backup))
        for name, handle in zip(names, handles, strict=True):
            _write(handle, _lines(folder / name, file.columns, rows))
    return torn


def _lines(path: Path, columns: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> bytes:
    """The rows as lines of a file, in the order of its own header; the header too where the file is empty."""
    old = path.read_bytes()
    if not old.strip(b"\xef\xbb\xbf, \t\r\n"):
        return _table(columns, columns, [columns, *rows])
    header = header_of(old.decode("utf-8", "replace"))
    return (b"" if old.endswith(b"\n") else b"\n") + _table(header, columns, rows)


def _table(header: Sequence[str], columns: Sequence[str], rows: Iterable[Sequence[str]]) -> bytes:
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    for row in rows:
        cells = dict(zip(columns, (" ".join(cell.split()) for cell in row), strict=True))
        writer.writerow([cells.get(name, "") for name in header])
    return buffer.getvalue().encode("utf-8", "replace")  # a shell may hand on bytes that are no text


def _write(handle: int, data: bytes) -> None:
    while data:
        data = data[os.write(handle, data) :]
    os.fsync(handle)


def _set_aside_torn(path: Path, file: _File, aside: Path) -> str:
    text = path.read_bytes().decode("utf-8", "surrogateescape") if path.exists() else ""
    tail = file.cut_short(text)
    if tail:
        with aside.open("a", encoding="utf-8", errors="surrogateescape") as stream:
            stream.write(tail + "\n")
            stream.flush()
            os.fsync(stream.fileno())
        os.truncate(path, path.stat().st_size - len(tail.encode("utf-8", "surrogateescape")))
    return tail
