"""After an upgrade: what in a nursery's files is older than the program is said, and brought up to it on request."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from almanac.nursery.varieties import COLUMNS
from tests.command import stickdate
from tests.conftest import Writes
from tests.faults.bench import kept


@pytest.fixture
def old(nursery: Writes) -> Path:
    """A nursery whose varieties were written before the last columns came, with schemas of then."""
    folder = nursery()
    (folder / "varieties.csv").write_bytes("number,name,crop\r\n1,Grün,fig\r\n".encode())
    stickdate("--nursery", folder, "rules", "schema")
    (folder / "schema" / "nursery.json").write_text('{"title": "older"}\n', encoding="utf-8")
    return folder


def test_what_is_older_is_said_and_stops_nothing(old: Path) -> None:
    before = kept(old)

    said = stickdate("--nursery", old, "check").stdout

    assert "older: varieties.csv has no columns source, protected, price_cutting" in said
    assert "older: schema/nursery.json are of another version" in said
    assert kept(old) == before


def test_mending_brings_it_up_to_the_program_and_keeps_what_was_there(old: Path) -> None:
    said = stickdate("--nursery", old, "check", "--mend").stdout

    lines = (old / "varieties.csv").read_bytes().split(b"\r\n")
    assert set(lines[0].decode().split(",")) == set(COLUMNS)
    assert lines[1:] == ["1,Grün,fig".encode(), b""]
    assert "Written anew: schema/nursery.json." in said
    assert "replaced/" in said
    assert json.loads(stickdate("--nursery", old, "--json", "check").stdout)["older"] == []


def test_a_new_nursery_is_not_old(tmp_path: Path) -> None:
    stickdate("new", tmp_path / "lane", "--town", "Ames, Iowa", "--last-frost", "04-28", "--first-frost", "10-04")

    assert json.loads(stickdate("--nursery", tmp_path / "lane", "--json", "check").stdout)["older"] == []
