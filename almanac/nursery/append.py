"""The one way a row gets into `logbook.csv` or `orders.csv` and its copy: all on the disk on return, or none."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from contextlib import ExitStack, suppress
from pathlib import Path

from almanac.disk import sync_folder
from almanac.faults import Fact, MachineTrouble, machine_trouble
from almanac.nursery.tables import MARK, Cells, Table, as_lines, header_of
from almanac.plain import dataclass

Part = tuple[Table, Sequence[Cells]]
_NOTHING = MARK.encode() + b", \t\r\n"


@dataclass(kw_only=True)
class _Open:
    """A file as it was before something is added to it."""

    path: Path
    handle: int
    created: bool
    size: int


def append(
    folder: Path, parts: Sequence[Part], uncopied: Mapping[str, Sequence[Cells]] | None = None
) -> dict[str, str]:
    """Write rows to tables and their copies, in this order. The caller holds the nursery's lock.

    All files are opened before any is written. What fails on the way is taken back: so either all is there on return,
    in both files and their folder, or nothing is.

    Args:
        folder: the nursery's
        parts: rows by their table; a table without rows is opened all the same, so that what cannot be written shows
        uncopied: by a table's name, the rows that its copy lacks, which go there first
    Returns:
        by a file's name the torn line that was set aside
    Raises:
        MachineTrouble: a file cannot be written; nothing was, unless the trouble says so
    """
    before = dict(uncopied or {})
    with ExitStack() as stack:
        files: dict[str, _Open] = {}
        name = ""
        try:
            for table in dict.fromkeys(table for table, _ in parts):
                for name in (table.name, table.backup):
                    files[name] = _opened(folder / name)
                    stack.callback(os.close, files[name].handle)
            torn = {
                name: _set_aside(folder, table, files[name])
                for table in dict.fromkeys(table for table, _ in parts)
                for name in (table.name, table.backup)
            }
            for table, rows in parts:
                for name, more in ((table.name, ()), (table.backup, before.pop(table.name, ()))):
                    if rows or more:
                        _write(files[name].handle, _lines(files[name].path, table.columns, [*more, *rows]))
            name = ""
            if any(file.created for file in files.values()):
                sync_folder(folder)
        except OSError as error:
            _take_back(list(files.values()))
            raise machine_trouble(error, name) from error
        except BaseException:
            _take_back(list(files.values()))
            raise
    return {name: tail for name, tail in torn.items() if tail}


def _opened(path: Path) -> _Open:
    created = not path.exists()
    handle = os.open(path, os.O_APPEND | os.O_WRONLY | os.O_CREAT, 0o644)
    return _Open(path=path, handle=handle, created=created, size=os.fstat(handle).st_size)


def _take_back(files: Sequence[_Open]) -> None:
    """Leave files as they were. Raises MachineTrouble where that fails, too: then the rows may be in."""
    for file in files:
        try:
            if os.fstat(file.handle).st_size > file.size:
                os.ftruncate(file.handle, file.size)
                os.fsync(file.handle)
        except OSError as error:
            raise MachineTrouble(Fact("perhaps_written", file=file.path.name, why=str(error.strerror))) from error
        if file.created:
            with suppress(OSError):
                file.path.unlink()


def _lines(path: Path, columns: Cells, rows: Sequence[Cells]) -> bytes:
    """The rows as lines of a file, in the order of its own header; the header too where the file is empty."""
    old = path.read_bytes()
    if not old.strip(_NOTHING):
        return as_lines(columns, columns, [columns, *rows]).encode("utf-8", "replace")
    lines = as_lines(header_of(old.decode("utf-8", "replace")), columns, rows)
    return (b"" if old.endswith(b"\n") else b"\n") + lines.encode("utf-8", "replace")  # a shell may pass on no text


def _write(handle: int, data: bytes) -> None:
    while data:
        data = data[os.write(handle, data) :]
    os.fsync(handle)


def _set_aside(folder: Path, table: Table, file: _Open) -> str:
    """Keep elsewhere what a write that was cut short left at the end of a file."""
    text = file.path.read_bytes().decode("utf-8", "surrogateescape")
    tail = table.cut_short(text)
    if tail:
        with (folder / table.torn).open("a", encoding="utf-8", errors="surrogateescape") as stream:
            stream.write(tail + "\n")
            stream.flush()
            os.fsync(stream.fileno())
        sync_folder(folder)
        file.size -= len(tail.encode("utf-8", "surrogateescape"))
        os.truncate(file.path, file.size)
    return tail
