"""The one way a row gets into `logbook.csv` and its backup: whole lines at the end, on the disk before it returns."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Sequence
from contextlib import ExitStack
from pathlib import Path

from almanac.nursery.logbook import BACKUP, COLUMNS, FILE, TORN, Row, header_of, torn_tail


def append(folder: Path, rows: Sequence[Row], *, backed_up: bool = False) -> str:
    """Write rows to logbook and backup, each in one whole write, to the disk. The caller holds the nursery's lock.

    Both files are opened before either is written, so that a file that cannot be written leaves both as they were.
    `backed_up` says that the backup holds the rows already.

    Returns:
        the torn line that was set aside, empty where there was none
    Raises:
        OSError: a file cannot be written; nothing was
    """
    names = (FILE,) if backed_up else (FILE, BACKUP)
    with ExitStack() as stack:
        handles = []
        for name in names:
            handle = os.open(folder / name, os.O_APPEND | os.O_WRONLY | os.O_CREAT, 0o644)
            stack.callback(os.close, handle)
            handles.append(handle)
        torn, _ = (_set_aside_torn(folder / name, folder / TORN) for name in (FILE, BACKUP))
        for name, handle in zip(names, handles, strict=True):
            _write(handle, _lines(folder / name, rows))
    return torn


def _lines(path: Path, rows: Sequence[Row]) -> bytes:
    """The rows as lines of a file, in the order of its own header; the header too where the file is empty."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    old = path.read_bytes()
    header: tuple[str, ...] = COLUMNS
    if not old.strip():
        writer.writerow(COLUMNS)
    else:
        header = tuple(header_of(old.decode("utf-8", "replace")))
        if not old.endswith(b"\n"):
            buffer.write("\n")
    for row in rows:
        cells = dict(zip(COLUMNS, (" ".join(cell.split()) for cell in row.cells()), strict=True))
        writer.writerow([cells.get(name, "") for name in header])
    return buffer.getvalue().encode("utf-8", "replace")  # a shell may hand on bytes that are no text


def _write(handle: int, data: bytes) -> None:
    while data:
        data = data[os.write(handle, data) :]
    os.fsync(handle)


def _set_aside_torn(path: Path, aside: Path) -> str:
    text = path.read_bytes().decode("utf-8", "surrogateescape") if path.exists() else ""
    tail = torn_tail(text)
    if tail:
        with aside.open("a", encoding="utf-8", errors="surrogateescape") as stream:
            stream.write(tail + "\n")
            stream.flush()
            os.fsync(stream.fileno())
        os.truncate(path, path.stat().st_size - len(tail.encode("utf-8", "surrogateescape")))
    return tail
