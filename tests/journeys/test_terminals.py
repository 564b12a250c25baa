"""What a terminal or a pipe can bear: signs it has not, a reader who leaves early, a full disk behind it."""

from __future__ import annotations

import io
import json
import os
import shutil
from pathlib import Path
from unittest.mock import patch

import pytest

from almanac.cli.main import COMMANDS
from tests.command import Ran, run
from tests.conftest import teasel_yard
from tests.nurseries import VARIETIES

DAY = "2026-02-10"
LOG = """
2025-12-10 taken 7a --count 9
2026-01-05 received 8a --count 12 --stage rooting --bin A
2026-01-20 noted 8a --note "北 µ „ring“"
"""
WRONG = "log leafs 8a"
# Each command once; those in several words more than once.
SAID = (
    "today --days 9", "lots", "why 8a.pot_up", "season", "space", "chart", "buy", "wood",
    "sheet {folder}/../out/s.pdf", "tags {folder}/../out/t.csv",
    "stick-by 2026-08-01 --variety 8 --plants 2",
    "strike", "site", "forsale", "order", "log noted 8a --note ½", "undo", "calendar", "publish {folder}/../out",
    "keys renew", "check", "rules", "rules show fig", "rules check", "wood", WRONG,
    "guide frost", "completion bash --print", "import {folder}/logbook.csv",
    "new {folder}/../n --name 北 --town Ames --elevation 300_m", "serve --port 0",
)  # fmt: skip


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = teasel_yard(tmp_path_factory.mktemp("made") / "yard", LOG, name="北 „Süd“ ½", varieties=VARIETIES)
    assert ran(folder, "calendar").status == 0
    return folder


@pytest.fixture
def yard(made: Path, tmp_path: Path) -> Path:
    shutil.copytree(made, tmp_path / "yard")
    return tmp_path / "yard"


def ran(folder: Path, words: str, encoding: str = "utf-8", out: io.RawIOBase | None = None) -> Ran:
    (folder.parent / "out").mkdir(exist_ok=True)
    said = [word.replace("_m", " m") for word in words.format(folder=folder).split()]
    with patch("almanac.web.server.create_server") as server:
        server.return_value.effective_port = 8765
        return run("--nursery", folder, *said, noon_of=DAY, encoding=encoding, out=out)


def test_every_command_is_tried() -> None:
    assert {words.split()[0] for words in SAID} == COMMANDS.keys()


@pytest.mark.parametrize("encoding", ["cp1252", "latin-1", "cp437", "ascii"])
def test_what_a_terminal_cannot_show_stops_no_command(
    encoding: str, yard: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    for words in SAID:
        told = ran(yard, words, encoding)

        assert told.status == (words == WRONG), (words, told)
        assert "\x1b" not in told.stdout + told.stderr, words
    assert json.loads(ran(yard, "today --json", encoding).stdout)["rounds"]


def test_a_reader_who_has_left_is_no_fault_of_any_command(yard: Path) -> None:
    for words in SAID:
        reader, writer = os.pipe()
        os.close(reader)
        with open(writer, "wb", buffering=0) as pipe:
            assert ran(yard, words, out=pipe).status == (words == WRONG), words


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_full_disk_behind_the_output_is_the_machine_s_fault(yard: Path) -> None:
    with open("/dev/full", "wb", buffering=0) as full:
        told = ran(yard, "today", out=full)

    assert (told.status, told.lines) == (3, ["stickdate: a file: no space left on device"])


def test_no_sign_in_a_file_steers_the_terminal(yard: Path) -> None:
    settings = yard / "nursery.toml"
    settings.write_text(settings.read_text("utf-8").replace("„Süd“", "Süd\\u0007\\u001b[2J\\u009b2J"), "utf-8")

    told = ran(yard, "today").stdout

    assert told.startswith("北 Süd??[2J?2J ½,")
