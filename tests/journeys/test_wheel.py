"""The program as a stranger installs it: the wheel, run outside the checkout; and the checkout itself.

Nothing is downloaded: the wheel is built with the hatchling that is here, and installed into a fresh environment that
sees the libraries of this one. Where hatchling is missing the check is skipped, but under STICKDATE_CI=1 it fails.
"""

from __future__ import annotations

import json
import os
import shutil
import site
import subprocess
import sys
import tarfile
import venv
from importlib.util import find_spec
from pathlib import Path
from zipfile import ZipFile

import pytest

from tests.conftest import once

pytestmark = pytest.mark.start
HERE = Path(__file__).parents[2]
EXAMPLE = HERE / "examples" / "quince-lane"


def run(*command: str | Path, cwd: Path, environment: dict[str, str] | None = None) -> str:
    clean = {name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "STICKDATE"))}
    clean["STICKDATE_NO_CACHE"] = "1"
    done = subprocess.run(
        command, cwd=cwd, env=clean | (environment or {}), capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, f"{command}\n{done.stdout}\n{done.stderr}"
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(once(tmp_path_factory, "wheel", lambda: built(tmp_path_factory.mktemp("wheel"))))


def built(folder: Path) -> str:
    if find_spec("hatchling") is None:
        reason = "hatchling is missing; install it with: pip install hatchling"
        if os.environ.get("STICKDATE_CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    code = "import sys; from hatchling.build import build_wheel; build_wheel(sys.argv[1])"
    run(sys.executable, "-c", code, folder, cwd=HERE)
    [found] = folder.glob("stickdate-*.whl")
    return str(found)


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The command of a fresh environment with the wheel in it, and the libraries of this one after it."""
    home = tmp_path_factory.mktemp("stranger")
    venv.create(home / "venv", with_pip=False, symlinks=True)
    binaries = home / "venv" / ("Scripts" if os.name == "nt" else "bin")
    python = binaries / "python"
    packages = Path(run(python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))", cwd=home).strip())
    with ZipFile(wheel) as archive:
        archive.extractall(packages)
    # Libraries only: the folders are added by name, so that the editable install of the checkout stays out of sight.
    (packages / "libraries.pth").write_text("\n".join(site.getsitepackages()) + "\n", encoding="utf-8")
    return python


def test_the_wheel_holds_the_rules_and_nothing_of_the_checkout_besides(wheel: Path) -> None:
    with ZipFile(wheel) as archive:
        names = set(archive.namelist())

    shipped = {path.relative_to(HERE).as_posix() for path in (HERE / "rules").rglob("*.toml")}
    assert {f"almanac/{name}" for name in shipped} <= names
    assert {name.split("/")[0].split("-")[0] for name in names} == {"almanac", "stickdate"}
    data = {path.relative_to(HERE).as_posix() for path in (HERE / "almanac").rglob("data/*") if path.is_file()}
    assert data <= names
    page = [path for folder in ("templates", "assets") for path in (HERE / "almanac" / "web" / folder).iterdir()]
    guide = list((HERE / "almanac" / "guide").iterdir())
    assert {path.relative_to(HERE).as_posix() for path in (*page, *guide)} <= names


def test_the_source_archive_holds_all_that_the_wheel_is_made_from(tmp_path: Path, wheel: Path) -> None:
    code = "import sys; from hatchling.build import build_sdist; build_sdist(sys.argv[1])"
    run(sys.executable, "-c", code, tmp_path, cwd=HERE)
    [archive] = tmp_path.glob("stickdate-*.tar.gz")
    with tarfile.open(archive) as opened:
        held = {name.partition("/")[2] for name in opened.getnames()}
    with ZipFile(wheel) as installed_files:
        needed = [name for name in installed_files.namelist() if name.startswith("almanac/")]

    beside = ("almanac/rules/", "almanac/examples/")
    assert {name.removeprefix("almanac/") if name.startswith(beside) else name for name in needed} <= held
    assert {"README.md", "CHANGELOG.md", "LICENSE", "pyproject.toml", "tests/conftest.py"} <= held


def test_the_installed_command_makes_the_invented_nursery(installed: Path, tmp_path: Path) -> None:
    command: list[str | Path] = [installed, "-m", "almanac.cli.main"]

    run(*command, "new", "--example", cwd=tmp_path)
    run(*command, "rules", "schema", cwd=tmp_path / EXAMPLE.name)

    assert (tmp_path / EXAMPLE.name / "logbook.csv").read_bytes() == (EXAMPLE / "logbook.csv").read_bytes()
    assert json.loads((tmp_path / EXAMPLE.name / "schema" / "nursery.json").read_text(encoding="utf-8"))


def test_the_installed_command_writes_a_calendar_outside_the_checkout(installed: Path, tmp_path: Path) -> None:
    folder = shutil.copytree(EXAMPLE, tmp_path / "nursery", ignore=shutil.ignore_patterns("calendar"))
    command: list[str | Path] = [installed, "-m", "almanac.cli.main"]

    where = run(installed, "-c", "import almanac; print(almanac.__file__)", cwd=tmp_path)
    told = json.loads(run(*command, "--as-of", "2026-02-24", "calendar", "--json", cwd=folder))
    rules = json.loads(run(*command, "rules", "show", "fig", "--json", cwd=tmp_path))

    assert Path(where.strip()).is_relative_to(installed.parents[1])
    assert told["entries"] > 20
    assert all((folder / path).is_file() or Path(path).is_file() for path in told["written"])
    assert rules


def test_the_installed_command_knows_its_version_and_its_name(installed: Path, tmp_path: Path) -> None:
    entry = "from importlib.metadata import entry_points as e; print(e(group='console_scripts')['stickdate'].value)"

    assert run(installed, "-m", "almanac.cli.main", "--version", cwd=tmp_path).startswith("stickdate 0.")
    assert run(installed, "-c", entry, cwd=tmp_path).strip() == "almanac.cli.main:main"


def test_the_wheel_and_the_checkout_write_the_same_calendar(installed: Path, tmp_path: Path) -> None:
    found = []
    for name, python, environment in (
        ("wheel", installed, {}),
        ("checkout", Path(sys.executable), {"PYTHONPATH": str(HERE)}),
    ):
        folder = shutil.copytree(EXAMPLE, tmp_path / name, ignore=shutil.ignore_patterns("calendar"))
        command: list[str | Path] = [
            python,
            "-m",
            "almanac.cli.main",
            "--as-of",
            "2026-02-24",
            "today",
            "--days",
            "30",
            "--json",
        ]
        found.append(json.loads(run(*command, cwd=folder, environment=environment)))

    assert found[0] == found[1]
