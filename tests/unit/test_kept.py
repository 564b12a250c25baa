"""What was read without fault is kept from run to run: never another answer for it, and none but the grower's own."""

from __future__ import annotations

import os
import shutil
import stat
from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime, time
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest

from almanac import kept
from almanac.nursery.events import EVENTS
from almanac.nursery.load import read_nursery
from almanac.nursery.nursery import Nursery
from almanac.rulebook.kept_tables import READERS, found, from_json, keep, place_of, to_json
from almanac.rulebook.load import load_without
from almanac.site import holidays
from tests.command import in_python
from tests.conftest import teasel_yard
from tests.examples import EXAMPLES, STATES

NOW = datetime(2026, 2, 24, 12, tzinfo=UTC)
posix = pytest.mark.skipif(not hasattr(os, "getuid"), reason="no owners and modes of files there")


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of what is kept, of this test alone; it is not there yet."""
    monkeypatch.delenv("STICKDATE_NO_CACHE", raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "caches"))
    return tmp_path / "caches" / "stickdate"


def rules(own: Path | None = None) -> str:
    """All that the rules hold, read as by a command that has just started."""
    book, faults = load_without(own or Path("nowhere"), EVENTS, ())
    assert book is not None, faults
    return repr(vars(book))


def read(folder: Path) -> tuple[Nursery | None, list[Any]]:
    return read_nursery(folder, NOW)


def told(folder: Path) -> str:
    """All that settings and rules of a nursery hold."""
    nursery, faults = read(folder)
    assert nursery is not None, faults
    own = folder / "rules"
    fields = {name: getattr(nursery.settings, name) for name in type(nursery.settings).__dataclass_fields__}
    return repr(fields) + (rules(own) if own.is_dir() else rules())


def no_check(monkeypatch: pytest.MonkeyPatch) -> None:
    """From here on nothing may be checked: who reads must have kept it."""

    def refused(*_: object) -> None:
        raise AssertionError("a file that was seen before is checked again")

    monkeypatch.setattr("almanac.rulebook.checked.checked", refused)


def test_shipped_rules_that_were_kept_are_the_rules_that_were_read(
    cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read = rules()
    assert len(list(cache.iterdir())) == 1

    no_check(monkeypatch)
    assert rules() == read


@pytest.mark.parametrize("example", STATES)
def test_a_nursery_that_was_kept_is_the_one_that_was_read(
    example: str, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("STICKDATE_NO_CACHE", "1")
    never_kept = told(EXAMPLES / example)
    assert not cache.exists()

    monkeypatch.delenv("STICKDATE_NO_CACHE")
    assert told(EXAMPLES / example) == never_kept
    no_check(monkeypatch)
    assert told(EXAMPLES / example) == never_kept


def test_rules_of_ones_own_are_kept_with_what_they_change(
    cache: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = tmp_path / "rules"
    (own / "crops").mkdir(parents=True)
    (own / "crops" / "fig.toml").write_text('title = "Our fig"\n', encoding="utf-8")
    shipped, changed = rules(), rules(own)
    assert ("Our fig" in changed, "Our fig" in shipped) == (True, False)

    no_check(monkeypatch)
    assert (rules(own), rules()) == (changed, shipped)


@pytest.mark.parametrize("file", ["nursery.toml", "rules/crops/fig.toml"])
def test_a_byte_changed_in_any_file_is_seen_though_its_size_and_time_stay(
    file: str, cache: Path, tmp_path: Path
) -> None:
    folder = teasel_yard(tmp_path / "yard")
    (folder / "rules" / "crops").mkdir(parents=True)
    (folder / "rules" / "crops" / "fig.toml").write_text('title = "Teasel fig"\n', encoding="utf-8")
    before, times = told(folder), (folder / file).stat()

    (folder / file).write_bytes((folder / file).read_bytes().replace(b"Teasel", b"Tassel"))
    os.utime(folder / file, ns=(times.st_atime_ns, times.st_mtime_ns))

    assert ("Tassel" in before, "Tassel" in told(folder)) == (False, True)


def test_nothing_of_another_file_name_kind_or_boundary_is_taken_for_this_one(cache: Path) -> None:
    asked: list[tuple[str, list[tuple[str, bytes]]]] = [
        ("rules", [("a", b"bc")]),
        ("rules", [("ab", b"c")]),
        ("rules", [("a", b"b"), ("c", b"")]),
        ("rules", [("c", b""), ("a", b"b")]),
        ("nursery.toml", [("a", b"bc")]),
    ]

    places = {place_of(what, files).file for what, files in asked}

    assert len(places) == len(asked)


def test_another_library_another_python_and_another_source_are_seen(
    cache: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package, library = tmp_path / "almanac", tmp_path / "pydantic"
    source = package / "rulebook" / "models.py"
    for file in (source, library / "version.py"):
        file.parent.mkdir(parents=True)
        file.write_text("VERSION = 1\n", encoding="utf-8")
    (library / "__init__.py").write_text("", encoding="utf-8")
    monkeypatch.setattr(kept, "__file__", str(package / "kept.py"))
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.delitem(__import__("sys").modules, "pydantic", raising=False)

    def readers() -> bytes:
        kept._readers.cache_clear()
        return kept._readers(("rulebook",), "pydantic")

    try:
        seen = [readers()]
        source.write_text("VERSION = 2 # other\n", encoding="utf-8")
        seen.append(readers())
        (library / "version.py").write_text("VERSION = 2\n", encoding="utf-8")
        seen.append(readers())
        monkeypatch.setattr("sys.version", "3.99.0")
        seen.append(readers())
    finally:
        kept._readers.cache_clear()

    assert len(set(seen)) == len(seen)


def test_what_says_what_comes_of_a_file_stands_where_it_is_looked_for() -> None:
    package = Path(kept.__file__).parent
    sources = [path for path, _ in kept._marked(READERS)]

    assert all((package / name).exists() for name in READERS)
    assert {str(package / "rulebook" / "models.py"), str(package / "nursery" / "settings.py")} <= set(sources)
    assert not [path for path in sources if "__pycache__" in path]


def _cut_short(file: Path) -> None:
    file.write_bytes(file.read_bytes()[:-10])


def _one_letter_other(file: Path) -> None:
    data = bytearray(file.read_bytes())
    data[len(data) // 2] ^= 1
    file.write_bytes(data)


def _empty(file: Path) -> None:
    file.write_bytes(b"")


def _no_json(file: Path) -> None:
    file.write_bytes(kept._sum(file, b"[[[") + b"\n[[[")


def _of_another_shape(file: Path) -> None:
    text = b'[["tuple",1],[]]'
    file.write_bytes(kept._sum(file, text) + b"\n" + text)


def _of_no_known_class(file: Path) -> None:
    text = b'[[0,"rm"],["os.system"]]'
    file.write_bytes(kept._sum(file, text) + b"\n" + text)


def _what_came_of_others(file: Path) -> None:
    other = file.with_name("0" * 64 + ".json")
    text = file.read_bytes().partition(b"\n")[2].replace(b'"Fig"', b'"Gif"')
    file.write_bytes(kept._sum(other, text) + b"\n" + text)


def _readable_by_all(file: Path) -> None:
    file.chmod(0o644)


def _link(file: Path) -> None:
    there = file.rename(file.parent.parent / "elsewhere.json")
    file.symlink_to(there)


@posix
@pytest.mark.parametrize(
    "spoil",
    [
        _cut_short,
        _one_letter_other,
        _empty,
        _no_json,
        _of_another_shape,
        _of_no_known_class,
        _what_came_of_others,
        _readable_by_all,
        _link,
    ],
)
def test_a_spoilt_or_foreign_file_counts_for_nothing_and_is_written_anew(
    spoil: Callable[[Path], None], cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read = rules()
    [file] = cache.iterdir()
    whole = file.read_bytes()
    spoil(file)

    assert rules() == read

    assert file.read_bytes() == whole
    assert file.lstat().st_mode == stat.S_IFREG | 0o600
    no_check(monkeypatch)
    assert rules() == read


@posix
def test_it_is_open_to_nobody_else(cache: Path) -> None:
    rules()

    assert cache.stat().st_mode & 0o777 == 0o700
    assert [file.stat().st_mode & 0o777 for file in cache.iterdir()] == [0o600]


@posix
@pytest.mark.parametrize("case", ["open to others", "open to a group", "a link", "a file", "of another", "no home"])
def test_where_the_folder_is_not_the_growers_own_nothing_is_read_or_written(
    case: str, cache: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir(mode=0o700)
    cache.parent.mkdir()
    if case.startswith("open"):
        cache.mkdir()
        cache.chmod(0o755 if case == "open to others" else 0o710)
    elif case == "a link":
        cache.symlink_to(elsewhere)
    elif case == "a file":
        cache.write_text("", encoding="utf-8")
    elif case == "of another":
        cache.mkdir(mode=0o700)
        monkeypatch.setattr("os.getuid", lambda: cache.stat().st_uid + 1)
    else:
        monkeypatch.setenv("XDG_CACHE_HOME", "not/absolute")
        monkeypatch.chdir(tmp_path)
        monkeypatch.setenv("HOME", str(tmp_path / "nobody"))

    assert rules() == rules()

    assert not list(elsewhere.iterdir())
    assert not (tmp_path / "nobody").exists()
    assert not (tmp_path / "not").exists()
    assert not cache.is_dir() or not list(cache.iterdir())


@posix
def test_what_stands_in_a_folder_open_to_others_is_not_believed(cache: Path) -> None:
    read = rules()
    [file] = cache.iterdir()
    text = file.read_bytes().partition(b"\n")[2].replace(b'"Fig"', b'"Gif"')
    file.write_bytes(kept._sum(file, text) + b"\n" + text)
    assert rules() != read  # in a folder of one's own it would be

    cache.chmod(0o777)

    assert rules() == read


def test_nothing_is_kept_where_the_grower_says_so(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("STICKDATE_NO_CACHE", "1")

    rules()

    assert not cache.exists()


def test_faults_are_never_kept_and_told_each_time(cache: Path, tmp_path: Path) -> None:
    folder = teasel_yard(tmp_path / "yard")
    (folder / "rules" / "crops").mkdir(parents=True)
    (folder / "rules" / "crops" / "fig.toml").write_text('title = "Fig"\ntitel = "Fig"\n', encoding="utf-8")
    with (folder / "nursery.toml").open("a", encoding="utf-8") as settings:
        settings.write("\n[suply]\n")

    first, again = read(folder)[1], read(folder)[1]

    assert {fault.file for fault in first} == {"nursery.toml", "rules/crops/fig.toml"}
    assert again == first
    assert not cache.exists()


def test_files_sound_in_themselves_that_others_belie_are_not_kept(cache: Path, tmp_path: Path) -> None:
    folder = teasel_yard(tmp_path / "yard")
    text = (folder / "nursery.toml").read_text("utf-8")
    (folder / "nursery.toml").write_text(text.replace("[nursery]", '[nursery]\nmethod = "in_jars"'), encoding="utf-8")
    (folder / "rules" / "crops").mkdir(parents=True)
    (folder / "rules" / "crops" / "fig.toml").write_text('methods = ["sealed_bag", "in_jars"]\n', encoding="utf-8")

    in_rules = [read(folder)[1], read(folder)[1]]
    assert in_rules[0] == in_rules[1]
    assert in_rules[0]
    assert not cache.exists()

    shutil.rmtree(folder / "rules")
    in_settings = [[fault.fact.kind for fault in read(folder)[1]] for _ in range(2)]
    assert in_settings == [["no_method"], ["no_method"]]
    assert len(list(cache.iterdir())) == 1  # the rules


def test_a_time_zone_that_the_machine_no_longer_knows_is_a_fault_as_ever(
    cache: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = teasel_yard(tmp_path / "yard")
    assert not read(folder)[1]

    def unknown(name: str) -> None:
        raise LookupError(name)

    monkeypatch.setattr("almanac.site.place.ZoneInfo", unknown)
    monkeypatch.setattr("almanac.nursery.settings_site.ZoneInfo", _no_zone)

    assert "no_zone" in [fault.fact.kind for fault in read(folder)[1]]


def _no_zone(name: str) -> None:
    raise ValueError(name)


def test_the_oldest_give_way_and_what_is_not_ours_stays(cache: Path) -> None:
    rules()
    (cache / "letter.txt").write_text("mine", encoding="utf-8")
    for number in range(65):
        name = f"{number:064x}.json"
        (cache / name).write_bytes(b"")
        os.utime(cache / name, (number, number))

    keep(place_of("nursery.toml", [("nursery.toml", b"")]), ())

    names = {path.name for path in cache.iterdir()}
    assert len(names) == 61
    assert {"letter.txt", f"{64:064x}.json"} <= names
    assert f"{6:064x}.json" not in names


def test_holidays_that_were_kept_are_those_the_library_told(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    places = [("US", "Virginia"), ("Germany", "BY"), ("NZ", ""), ("JP", ""), ("Narnia", "")]
    years = date(2026, 1, 1), date(2027, 12, 31)

    def told() -> list[object]:
        for each in (holidays._of_years, holidays._countries, holidays._regions):
            each.cache_clear()
        return [(holidays.region_code(*place), holidays.public_holidays(*place, *years)) for place in places]

    first = told()
    kept_ones = sorted(cache.iterdir())
    monkeypatch.setattr(holidays, "_calendar_of", None)  # from here on the library cannot be asked
    again = told()

    assert again == first
    assert first[-1] == ("", {})
    assert sorted(cache.iterdir()) == kept_ones


def test_every_value_comes_back_as_the_kind_it_was() -> None:
    values: Mapping[str, object] = {
        "whole": (1, 1.0, True, None, "ä", 0.1 + 0.2),
        "list": [1, (2,), {"a": {}}],
        "days": (date(2026, 2, 28), datetime(2026, 2, 28, 1, tzinfo=UTC), time(6)),
        "sealed": MappingProxyType({"a": MappingProxyType({})}),
    }

    back = from_json(to_json(values))

    assert repr(back) == repr(values)


@pytest.mark.parametrize("value", [{1: "a"}, {1, 2}, object(), b"bytes"])
def test_what_json_would_change_is_not_kept(value: object, cache: Path) -> None:
    place = place_of("nursery.toml", [])

    keep(place, (value,))

    assert found(place, tuple) is None


@pytest.mark.start
def test_a_command_that_meets_only_what_was_seen_before_does_without_the_libraries_that_worked_it_out(
    cache: Path, tmp_path: Path
) -> None:
    folder = shutil.copytree(EXAMPLES / "quince-lane", tmp_path / "lane", ignore=shutil.ignore_patterns("calendar"))
    code = """
import atexit, sys
atexit.register(lambda: print("with", *sorted({"holidays", "pydantic", "tomllib"} & set(sys.modules))))
from almanac.cli.main import main; main()
"""
    words = ("--nursery", folder, "--as-of", "2026-02-24", "today")

    first, again = in_python(code, *words), in_python(code, *words)

    assert first.stdout.endswith("with holidays pydantic tomllib\n")
    assert again.stdout == first.stdout.removesuffix(" holidays pydantic tomllib\n") + "\n"
