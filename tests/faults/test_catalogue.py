"""Every fault of the catalogue: one bad file each, named by the case, and beside it the lines a grower reads.

`nursery/`, `varieties/`, `logbook/` and `orders/` hold files put in place of those of the nursery of `bench.py`;
`rules/care/mould/` holds files put as `rules/care/mould.toml` into its own rules, and so on. The lines are the
program's own wording, read and agreed one by one; that they stay is what is tested here.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.faults.bench import kept, make_nursery, run

HERE = Path(__file__).parent
CASES = sorted(
    path.relative_to(HERE).with_suffix("").as_posix()
    for area in ("nursery", "varieties", "logbook", "orders", "rules")
    for path in (HERE / area).rglob("*.txt")
)
WHOLE = {
    "nursery": "nursery.toml",
    "varieties": "varieties.csv",
    "logbook": "logbook.csv",
    "orders": "orders.csv",
}
OTHERS = (("check", "--mend"), ("calendar",), ("forsale",), ("lots",), ("today",), ("log", "looked", "7b"), ("undo",))
OF_THE_BENCH = 4  # of these the last, which a fault in own rules does not stop: see test_rules_at_fault.py


def bad_file(case: str) -> Path:
    return HERE / (f"{case}.toml" if case.startswith(("nursery", "rules")) else f"{case}.csv")


def place_of(case: str) -> str:
    """Where in a nursery the case's file is put."""
    folder = Path(case).parent.as_posix()
    return WHOLE.get(folder) or f"{folder}.toml"


def expected(case: str) -> list[str]:
    return (HERE / f"{case}.txt").read_text(encoding="utf-8").splitlines()


def broken(good: Path, folder: Path, case: str) -> Path:
    """The good nursery with the case's file in it."""
    shutil.copytree(good, folder)
    target = folder / place_of(case)
    target.parent.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(bad_file(case), target)
    if case.startswith("logbook/"):  # whose rows are not those copied
        (folder / "logbook.backup.csv").unlink()
    return folder


@pytest.mark.parametrize("case", CASES)
def test_a_fault_is_told_whatever_the_command_and_nothing_is_written(case: str, good: Path, tmp_path: Path) -> None:
    folder = broken(good, tmp_path / "lane", case)
    before = kept(folder)

    others = OTHERS[:-OF_THE_BENCH] if case.startswith("rules/") else OTHERS
    for command in (("check",), others[CASES.index(case) % len(others)]):  # all of them would take half a minute
        ran = run("--nursery", folder, *command)

        assert (ran.lines, ran.status, ran.stdout) == (expected(case), 1, ""), command
        assert kept(folder) == before, command


@pytest.mark.parametrize("case", [case for case in CASES if case.startswith("rules/")])
def test_a_rule_file_is_checked_alone_as_if_it_stood_in_the_nursery(case: str, tmp_path: Path) -> None:
    path = tmp_path / place_of(case).removeprefix("rules/")
    path.parent.mkdir(exist_ok=True)
    shutil.copyfile(bad_file(case), path)

    ran = run("--nursery", make_nursery(tmp_path / "lane"), "rules", "check", path)

    assert [line.replace(str(path), place_of(case)) for line in ran.lines] == expected(case)
    assert (ran.status, ran.stdout) == (1, "")


def test_each_bad_file_has_its_lines_and_none_is_forgotten() -> None:
    bad = {path for suffix in ("csv", "toml") for path in HERE.rglob(f"*.{suffix}")}

    assert bad == {bad_file(case) for case in CASES}
    assert len(CASES) >= 60


def test_faults_stand_in_the_order_of_files_then_lines(good: Path, tmp_path: Path) -> None:
    folder = broken(good, tmp_path / "lane", "nursery/several_at_once")
    for case in ("varieties/several_at_once", "logbook/several_rows_unreadable", "rules/care/own/several_at_once"):
        target = folder / place_of(case)
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(bad_file(case), target)

    ran = run("--nursery", folder, "check")

    files = [line.split(":")[0] for line in ran.lines]
    assert files == sorted(files)
    assert set(files) == {"logbook.csv", "nursery.toml", "rules/care/own.toml"}  # varieties wait for readable rules
    for name in set(files):
        numbers = [int(line.split(":")[1]) for line in ran.lines if line.startswith(f"{name}:")]
        assert numbers == sorted(numbers)


def test_a_state_of_another_country_is_told_with_those_of_this_one(tmp_path: Path) -> None:
    folder = make_nursery(tmp_path / "lane")
    settings = folder / "nursery.toml"
    settings.write_text(settings.read_text(encoding="utf-8").replace('"VA"', '"ON"'), encoding="utf-8")

    ran = run("--nursery", folder, "check")

    assert ran.status == 1
    assert ran.stderr.startswith('nursery.toml: site: region "ON" is not one of those of US; write one of AK, AL, ')


@pytest.mark.parametrize(
    "words",
    [
        ("lokk",),
        ("today", "--days", "none"),
        ("today", "--day", "3"),
        ("log",),
        ("log", "potted", "7b", "--count", "two"),
        ("log", "potted", "7b", "--count", "-1"),
        ("lots", "7a", "7b"),
        ("why",),
        ("--as-of", "2/24/2026", "today"),
        ("--as-of", "9999-12-31", "today"),
        ("today", "--as-of", "0001-01-01"),
        ("rules", "shw"),
    ],
)
def test_wrong_usage_of_a_command_ends_with_2_and_says_how(words: tuple[str, ...], tmp_path: Path) -> None:
    folder = make_nursery(tmp_path / "lane")
    before = kept(folder)

    ran = run("--nursery", folder, *words)

    assert ran.status == 2
    assert ran.lines[0].startswith("Usage: stickdate")
    assert ran.lines[-1].startswith("Error: ")
    assert kept(folder) == before


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("log", "lefs", "7b"), "'lefs' is not an event; did you mean 'leaves'?"),
        (("log", "potted", "7b", "--count", "9"), "7b has 8 rooting; 9 cannot be potted"),
        (("log", "potted", "7b", "--count", "200000"), "count 200000 is more than 100000; check the digits"),
        (("log", "potted", "7a"), "7a has 8 in store and none rooting; none can be potted"),
        (("log", "looked", "7c"), "there is no lot '7c'; expected 1a | 7a | 7b"),
        (
            ("log", "looked", "7b", "--on", "2026-03-21"),
            "2026-03-21 is after today, 2026-03-20; only what has happened is logged",
        ),
        (
            ("log", "looked", "7b", "--on", "2/27/2026"),
            "'2/27/2026' is not a date; write it like 2026-02-27 (or today, yesterday, -3d)",
        ),
        (("log", "mat", "A", "--value", "74"), '"74" has no unit; write "78 F" or "25.5 C"'),
        (
            ("log", "died", "7a", "--on", "2026-01-03", "--count", "10"),
            "that day it would contradict what is logged after it: "
            "logbook.csv:4: 7a has 10 in store; 12 cannot be stuck",
        ),
        (("undo", "r60"), "there is no row 'r60' to undo; did you mean 'r6'?"),
        (
            ("undo", "r3"),
            "r3 cannot be undone while r5 and r6 rest on it (there is no lot '7b'; expected 1a | 7a); undo those first",
        ),
        (("lots", "7x"), "there is no lot '7x'; expected 1a | 7a | 7b"),
    ],
)
def test_what_cannot_be_logged_is_refused_in_one_line_and_nothing_is_written(
    words: tuple[str, ...], told: str, good: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "lane"
    shutil.copytree(good, folder)
    before = kept(folder)

    ran = run("--nursery", folder, *words)

    assert (ran.lines, ran.status, ran.stdout) == ([f"stickdate: {told}"], 1, "")
    assert kept(folder) == before


def test_a_folder_without_a_nursery_is_told_with_the_way_to_make_one(tmp_path: Path) -> None:
    ran = run("--nursery", tmp_path, "today")

    assert (ran.status, ran.lines) == (
        1,
        [f"stickdate: {tmp_path} has no nursery.toml; make a nursery with: stickdate new {tmp_path}"],
    )


def test_kit_that_is_only_unwise_is_told_and_stops_nothing(tmp_path: Path) -> None:
    folder = make_nursery(tmp_path / "lane")
    settings = folder / "nursery.toml"
    text = settings.read_text(encoding="utf-8").replace('mat = "78 F"', 'mat = "101 F"', 1)
    settings.write_text(text, encoding="utf-8")

    told = run("--nursery", folder, "check")

    assert (told.status, told.stderr) == (0, "")
    assert 'bin \'A\': at "101 F" nothing that you grow roots, from "100.4 F" on' in told.stdout
    assert "bin 'B': at" not in told.stdout
