"""The one way a row gets into `logbook.csv` and its backup: whole lines at the end, on the disk before it returns."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Sequence
from pathlib import Path

from almanac.nursery.logbook import BACKUP, COLUMNS, FILE, TORN, Row, header_of, torn_tail


def append(folder: Path, rows: Sequence[Row], *, backed_up: bool = False) -> str:
    """Write rows to logbook and backup, each in one whole write, to the disk. The caller holds the nursery's lock.

    `backed_up` says that the backup holds them already.

    Returns:
        the torn line that was set aside, empty where there was none
    """
    torn, _ = (_set_aside_torn(folder / name, folder / TORN) for name in (FILE, BACKUP))
    for name in (FILE,) if backed_up else (FILE, BACKUP):
        _append_lines(folder / name, rows)
    return torn


def _append_lines(path: Path, rows: Sequence[Row]) -> None:
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    old = path.read_bytes() if path.exists() else b""
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
    data = buffer.getvalue().encode("utf-8", "replace")  # a shell may hand on bytes that are no text
    handle = os.open(path, os.O_APPEND | os.O_WRONLY | os.O_CREAT, 0o644)
    try:
        while data:
            data = data[os.write(handle, data) :]
        os.fsync(handle)
    finally:
        os.close(handle)


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
