"""Files damaged at random: whatever disk, editor or spreadsheet does to them, a grower reads lines, no traceback.

STICKDATE_FUZZ says how many damaged files are tried of each kind (4 if not said: some seconds); the damage follows
from its number alone, so that a failure can be repeated.
"""

from __future__ import annotations

import os
import random
import re
import shutil
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

import pytest

from almanac.rulebook.load import shipped_rules
from tests.faults.bench import LOGBOOK, NURSERY, ORDERS, VARIETIES, kept, run

TRIES = int(os.environ.get("STICKDATE_FUZZ", "4"))
PATIENCE_S = 20
TABLES = {"varieties.csv": VARIETIES, "logbook.csv": LOGBOOK, "orders.csv": ORDERS}
DOCUMENTS = {"nursery.toml": NURSERY} | {
    f"rules/{name}": (shipped_rules() / name).read_text(encoding="utf-8")
    for name in (
        "care/mould.toml",
        "crops/fig.toml",
        "methods/sealed_bag.toml",
        "sources.toml",
        "cautions.toml",
        "supplies.toml",
        "law.toml",
    )
}
NAMES_A_FILE = re.compile(
    r"(note: )?(nursery\.toml|varieties\.csv|(logbook|orders)(\.backup)?\.csv|rules/[\w/]+\.toml)(:\d+)?: \S"
    r"|note: (the logbook's last line|the calendar was not refreshed: logbook\.csv: )"
    r"|note: the calendar was not refreshed: it stands still until your own rules are mended: rules/"
    r"|check --mend would put back |  "
)
ODD_CELLS = (
    "2/24/2026", "24.02.2026", "2026-02-24 00:00:00", "46077", "0001-01-01", "9999-12-31",
    "2026-02-24T10:00", "-1", "0", "1.2E+01", "1e400", "12.0", "1,200", "9" * 30, "9" * 5000, "²", "٣",
    "nan", "TRUE", "#REF!", "=1+1", "'7a", "7A", " 7a ", "７a", "7" + "z" * 400, "é", "\u2028", "\x00",
    "\x1b[2J", '"', '""', "a\nb", "x" * 200_000, "LEAVES", "Sealed", "void", "taken", "stuck", "counted",
    "restuck", "joined", "planned", "dormant", "cancelled", "reopened",
    "mat", "off", "r1", "r6", "7b", "A", "sealed_bag", "",
)  # fmt: skip
ODD_VALUES = (
    "true", "nan", "-inf", "0", "-1", "1e308", "9" * 40, "9" * 5000, "0.5", '""', '"x"', "[]", "{}", "[[]]",
    '["x"]', "[1]", "2027-03-14", "0001-01-01", "9999-12-31", "2027-03-14T10:00:00Z", "10:00:00", '"78"',
    '"78 F"', '"-500 C"', '"0 d"', '"9999999999 d"', '"04-17"', '"\\u0000"', '"' + "y" * 100_000 + '"',
    "{ id = 1 }", '[{ id = "x" }]', "[{ name = [] }]", '{ "50%" = "02-30" }', "[" * 60 + "]" * 60,
    "[" * 5000, '"../../etc"', '"log void"', '"roots"', '["roots"]', '"memory"',
)  # fmt: skip


def bytes_flipped(data: bytes, chance: random.Random) -> bytes:
    found = bytearray(data)
    for _ in range(chance.randint(1, 6)):
        found[chance.randrange(len(found))] = chance.randrange(256)
    return bytes(found)


def cut_short(data: bytes, chance: random.Random) -> bytes:
    return data[: chance.randrange(len(data))]


def piece_lost(data: bytes, chance: random.Random) -> bytes:
    start = chance.randrange(len(data))
    return data[:start] + data[start + chance.randint(1, 200) :]


def lines_shuffled(data: bytes, chance: random.Random) -> bytes:
    lines = data.splitlines(keepends=True)
    chance.shuffle(lines)
    return b"".join(lines)


def line_repeated(data: bytes, chance: random.Random) -> bytes:
    lines = data.splitlines(keepends=True)
    lines.insert(chance.randrange(len(lines)), chance.choice(lines))
    return b"".join(lines)


def saved_otherwise(data: bytes, chance: random.Random) -> bytes:
    """What editors and spreadsheets do to a whole file."""
    text = data.decode()
    return chance.choice(
        [
            b"\xef\xbb\xbf" + data,
            data.replace(b"\n", b"\r\n"),
            data.replace(b"\n", b"\r"),
            data.replace(b",", b";"),
            data.replace(b",", b"\t"),
            data.replace(b"\n", b",,,\n"),
            data.replace(b"\n", b"\n\n\n"),
            b"\n\n" + data,
            data.upper(),
            data.lower(),
            data.replace(b'"', b"'"),
            data.replace(b"i", "í".encode("latin-1")),
            text.replace('"', "”").encode(),
            text.encode("utf-16"),
            text.encode("utf-16-le"),
            data.rstrip(b"\n"),
            data + b"\x00" * 40,
            data + b"\x1a",
            data[:1000] * 50,
            b"",
            b"\n",
        ]
    )


def cells_damaged(data: bytes, chance: random.Random) -> bytes:
    """Cells overwritten, swapped or lost, columns deleted; quotes as a careless hand leaves them."""
    rows = [line.split(",") for line in data.decode().splitlines()]
    if chance.random() < 0.3:
        column = chance.randrange(len(rows[0]))
        for row in rows:
            del row[column : column + 1]
    for _ in range(chance.randint(1, 4)):
        row = chance.choice(rows[1:])
        at = chance.randrange(len(row))
        if chance.random() < 0.5:
            row[at] = chance.choice(ODD_CELLS)
        else:
            other = chance.choice(rows[1:])
            there = chance.randrange(len(other))
            row[at], other[there] = other[there], row[at]
    return "\n".join(",".join(row) for row in rows).encode("utf-8")


def values_damaged(data: bytes, chance: random.Random) -> bytes:
    """Values of another type, keys misspelt, headers exchanged, tables made lists and lists tables."""
    lines = data.decode().split("\n")
    keyed = [at for at, line in enumerate(lines) if "=" in line and not line.startswith("#")]
    headers = [at for at, line in enumerate(lines) if line.startswith("[")]
    for _ in range(chance.randint(1, 3)):
        way = chance.random()
        if way < 0.7:
            at = chance.choice(keyed)
            lines[at] = f"{lines[at].partition('=')[0]}= {chance.choice(ODD_VALUES)}"
        elif way < 0.8:
            at = chance.choice(keyed)
            lines[at] = chance.choice(["date", "str", '"a[b]"', "id", "name", "x.y", "''"]) + " = 1"
        elif headers:
            at = chance.choice(headers)
            name = lines[at].strip("[]")
            other = lines[chance.choice(headers)]
            lines[at] = chance.choice([f"[[{name}]]", f"[{name}]", f"[{name}.x]", f"[x.{name}]", other])
    return "\n".join(lines).encode("utf-8")


WHOLE_FILE = (bytes_flipped, cut_short, piece_lost, lines_shuffled, line_repeated, saved_otherwise)
Damage = Callable[[bytes, random.Random], bytes]
KINDS: list[tuple[str, Damage]] = [
    *((file, damage) for file in (*TABLES, "nursery.toml", "rules/care/mould.toml") for damage in WHOLE_FILE),
    *((file, cells_damaged) for file in TABLES),
    *((file, values_damaged) for file in DOCUMENTS),
]


@contextmanager
def patience() -> Iterator[None]:
    """Stop what a damaged file keeps busy too long."""

    def stop(number: int, frame: FrameType | None) -> None:
        raise TimeoutError(f"busy for more than {PATIENCE_S} s")

    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(PATIENCE_S)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


@pytest.mark.parametrize(("file", "damage"), KINDS, ids=[f"{damage.__name__}-{file}" for file, damage in KINDS])
def test_a_damaged_file_gets_lines_that_name_a_file_and_never_a_traceback(
    file: str, damage: Damage, good: Path, tmp_path: Path
) -> None:
    for number in range(TRIES):
        chance = random.Random(f"{file} {damage.__name__} {number}")
        folder = tmp_path / str(number)
        shutil.copytree(good, folder)
        data = damage((TABLES | DOCUMENTS)[file].encode(), chance)
        (folder / file).parent.mkdir(parents=True, exist_ok=True)
        (folder / file).write_bytes(data)
        before = kept(folder)

        command = chance.choice([("check",), ("today",), ("log", "noted", "7b"), ("calendar",), ("forsale",)])
        with patience():
            ran = run("--nursery", folder, *command)

        assert ran.status in (0, 1), (number, ran)
        assert ran.status == 0 or ran.lines, number
        unnamed = [line for line in ran.lines if not NAMES_A_FILE.match(line)]
        if not (ran.status == 1 and len(unnamed) == 1 and unnamed[0].startswith("stickdate: ")):  # a refusal
            assert not unnamed, (number, unnamed)
        assert all(len(line) < 700 for line in ran.lines), number
        if ran.status:
            assert kept(folder) == before, number
        assert (folder / "logbook.csv").read_bytes().startswith(before["logbook.csv"]) or "set aside" in ran.stderr, (
            number
        )
        shutil.rmtree(folder)
