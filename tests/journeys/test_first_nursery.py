"""A grower's first quarter of an hour: from nothing to a calendar that a client reads, typed into a terminal."""

from __future__ import annotations

import json
import os
import time
import tomllib
from pathlib import Path

import pytest

from tests.command import stickdate
from tests.outside.test_subscribed import Phone
from tests.terminal import Terminal

pytestmark = [
    pytest.mark.start,
    pytest.mark.skipif(not hasattr(os, "openpty"), reason="needs a pseudo-terminal"),
]


def settings_of(folder: Path) -> dict[str, object]:
    return tomllib.loads((folder / "nursery.toml").read_text(encoding="utf-8"))


def test_from_nothing_to_a_calendar_on_a_phone_in_a_dozen_commands_and_two_dozen_answers(tmp_path: Path) -> None:
    commands, answers = 0, 0
    with Terminal("new", "lane", cwd=tmp_path) as new:
        new.answer("Name of the nursery [lane]", "Plum Lane")
        new.answer("Town, such as", "Roanok, Virginia")
        assert "That is Roanoke, Virginia, United States" in new.answer("Units", "")
        new.answer("Height above the sea", "1150 ft")
        shown = new.answer("Last spring frost: nearest", "")
        assert "The nearest frost station is" in shown
        assert "mile" in shown
        assert " km" not in shown
        new.answer("Days you go through the bags [tue,fri,sun]", "mon,thu,sat")
        new.answer("Names of your bins", "A,B")
        new.answer("Bags a bin holds", "30")
        new.answer("What the mats are set to [78 F]", "")
        new.answer("How warm it is round the tops [66 F]", "68 F")
        assert "fig" in new.answer("A variety, such as", "1, Old brown, fig")
        new.answer("The next", "")
        assert new.ends() == 0
        assert str(tmp_path / "lane") in new.screen
        assert [line for line in new.screen.splitlines() if len(line) > 80 and str(tmp_path) not in line] == []
    commands, answers = commands + 1, answers + new.answers
    lane = tmp_path / "lane"
    for words in (
        "site",
        "log taken 1 --count 20",
        "log stuck 1 --count 12",
        "calendar",
    ):
        stickdate(*words.split(), cwd=lane)
        commands += 1
    with Terminal("serve", "--port", "0", cwd=lane) as serve:
        serve.sees("The calendar, for a program here:")
        address = serve.sees("everything.ics").split()[-1]
        phone = Phone(tmp_path / "phone", address)
        entries = phone.sync()
        serve.types("\x03")
    commands += 1

    assert any("1b" in title for _, title in entries)
    assert commands <= 12
    assert answers <= 25
    found = settings_of(lane)
    assert found["site"]["town"] == "Roanoke, Virginia, United States"  # type: ignore[index]
    assert [each["name"] for each in found["bin"]] == ["A", "B"]  # type: ignore[attr-defined]
    assert not (lane / "answers.json").exists()


def test_a_wrong_answer_is_told_at_once_and_asked_again(tmp_path: Path) -> None:
    with Terminal("new", "lane", "--town", "Ames, Iowa", "--name", "Lane", "--units", "us", cwd=tmp_path) as new:
        new.answer("Height above the sea", "1150")
        assert 'has no unit; write "1150 ft"' in new.answer("Height above the sea", "940 ft")
        new.answer("Last spring frost", "17 April")
        assert "is not a day of the year" in new.answer("Last spring frost", "10-17")
        assert "out of season in the north" in new.answer("Last spring frost", "04-28")
        new.answer("First autumn frost", "10-04")
        new.answer("Days you go", "friday,noday")
        assert "is not known" in new.answer("Days you go", "tue,sat")
        new.answer("Names of your bins", "1")
        new.answer("Names of your bins", "A")
        new.answer("Bags a bin holds", "many")
        assert "write digits alone" in new.answer("Bags a bin holds", "24")
        new.answer("What the mats are set to", "200 F")
        new.answer("What the mats are set to", "")
        new.answer("How warm it is", "")
        new.answer("A variety, such as", "1, Sky blue, hydrangea")
        assert "not from dormant wood" in new.answer("A variety, such as", "1, Old brown, fig")
        new.answer("The next", "1, Another, fig")
        assert "already 'Old brown'" in new.answer("The next", "")
        assert new.ends() == 0

    assert (tmp_path / "lane" / "varieties.csv").read_text("utf-8").splitlines()[1].startswith("1,Old brown,fig,")


def test_who_leaves_goes_on_where_it_was(tmp_path: Path) -> None:
    with Terminal("new", "lane", cwd=tmp_path) as first:
        first.answer("Name of the nursery", "Plum Lane")
        first.answer("Town, such as", "Hobart, Tasmania")
        first.sees("Units")
        first.sees(": ")
        time.sleep(0.3)  # a key that comes before it is read for is kept for the next question
        first.types("\x03")
        first.sees("What you answered is kept; go on with: stickdate new lane")
        assert first.ends() == 1
    assert not (tmp_path / "lane" / "nursery.toml").exists()

    with Terminal("new", "lane", cwd=tmp_path) as again:
        kept = again.answer("Units, us or metric [metric]", "feet")
        assert "neither us nor metric" in again.answer("Units, us or metric [metric]", "")
        again.answer("Height", "")
        again.answer("Last spring frost", "never")
        again.types("\n" * 9)
        assert again.ends() == 0
    assert "Name of the nursery: Plum Lane" in kept
    assert settings_of(tmp_path / "lane")["nursery"]["name"] == "Plum Lane"  # type: ignore[index]


def test_every_answer_may_be_an_option_and_then_nothing_is_asked(tmp_path: Path) -> None:
    stickdate(
        "new", tmp_path / "lane", "--name", "Lane", "--town", "Ames, Iowa", "--units", "us", "--elevation", "940 ft",
        "--last-frost", "04-28", "--first-frost", "10-04", "--bench-days", "tue,sat", "--bins", "A,B", "--bags", "20",
        "--mat", "75 F", "--air", "64 F", "--variety", "1, Old brown, fig", "--variety", "2, Red, early, grape",
    )  # fmt: skip

    found = settings_of(tmp_path / "lane")
    assert [(each["bags"], each["mat"], each["air"]) for each in found["bin"]] == [(20, "75 F", "64 F")] * 2  # type: ignore[attr-defined]
    assert (tmp_path / "lane" / "varieties.csv").read_text("utf-8").splitlines()[2].startswith('2,"Red, early",grape,')


def test_all_that_is_wrong_with_the_options_is_told_at_once_and_nothing_is_made(tmp_path: Path) -> None:
    told = stickdate(
        "new", tmp_path / "lane", "--town", "Ames, Iowa", "--elevation", "940", "--bins", "1", "--mat", "200 F",
        "--variety", "1, Sky, hydrangea", "--variety", "two, Red, grape", code=1,
    )  # fmt: skip

    assert len(told.lines) >= 5
    assert "answers: variety 2: number 'two' is not a whole number" in told.stderr
    assert not (tmp_path / "lane").exists()


def test_an_invented_nursery_is_there_to_play_with(tmp_path: Path) -> None:
    told = stickdate("new", "--example", cwd=tmp_path).stdout
    folder = tmp_path / "quince-lane"
    [line] = [line.strip() for line in told.splitlines() if "today" in line]

    assert stickdate(*line.split()[1:], cwd=folder).stdout.startswith("Quince Lane")
    other = tmp_path / "other"
    stickdate("new", "--example", other)
    assert settings_of(folder)["nursery"]["id"] != settings_of(other)["nursery"]["id"]  # type: ignore[index]
    assert json.loads(stickdate("--json", "--nursery", other, "--as-of", "2026-02-24", "check").stdout)["open_lots"] > 3
    stickdate("new", "--example", other, code=1)
