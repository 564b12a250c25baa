"""What several tests share: a nursery's folder, written as its grower would write it."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TypeVar, Unpack

import pytest
from filelock import FileLock
from hypothesis import HealthCheck, settings

from tests.kept_plans import planned_once
from tests.kept_rules import read_once
from tests.nurseries import Parts, write_nursery

# A busy machine is no fault of the program. What is drawn is the same at each run, so that a failure speaks of the
# change and not of chance; STICKDATE_DRAWN=anew draws afresh, to look for what nobody has thought of.
settings.register_profile(
    "unhurried",
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    derandomize=os.environ.get("STICKDATE_DRAWN") != "anew",
)
settings.load_profile("unhurried")
Writes = Callable[..., Path]
T = TypeVar("T")
# Two bins of other warmth, prices, one protected variety; the phone rings for nothing.
TEASEL_YARD = Parts(
    name="Teasel Yard (invented)",
    bins="AB",
    bags=60,
    mat={"A": "25.5 C", "B": "24 C"},
    air={"A": "20 C", "B": "19 C"},
    calendar='alarm = "none"',
    varieties="""\
number,name,crop,source,protected,price_cutting,price_plant,note
1,Plain one,fig,own,,4,14,
2,Second one,fig,own,,4,14,
3,Guarded one,fig,trade,yes,,,
7,Late one,fig,swap,,5,16,
""",
)

# What is started again and again need not be compiled each time, though the shell may say so.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# Of each room the tests that say most in a second: `pytest -m quick` before each commit, all of them before landing.
QUICK = {
    "journeys": "cli_help orders site",
    "unit": "demand durations facts feed_entries forsale ids logbook milestones orders postdays potting programmes "
    "publish replay rounds rulebook season site_frost site_holidays site_light site_towns space terminal_site "
    "thermal to_come units visits watering web words",
}
# Those that take their size from an environment variable.
LONG = {
    "faults": "fuzz hostile nothing_is_lost routes",
    "journeys": "lot_year phones_together seasons_read weighing year",
    "outside": "hardening_places potted_year simulated_learning visits",
    "unit": "counts_conserved rounds_always wood_account",
}
# Those of which a single test takes long begin first, so that both cores end together.
FIRST = "outside/test_bench_page outside/test_bench_sizes outside/test_mended_page journeys/test_seasons_read"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    first = {f"tests/{name}.py" for name in FIRST.split()}
    assert all(map(os.path.isfile, first)), "tests/conftest.py names a file that is no more"
    items.sort(key=lambda item: item.nodeid.partition("::")[0] not in first)
    for mark, chosen in (("quick", QUICK), ("long", LONG)):
        files = {f"tests/{folder}/test_{name}.py" for folder, names in chosen.items() for name in names.split()}
        assert all(map(os.path.isfile, files)), "tests/conftest.py names a file that is no more"
        for item in items:
            if item.nodeid.partition("::")[0] in files and not (mark == "quick" and item.get_closest_marker("start")):
                item.add_marker(mark)


def teasel_yard(folder: Path, log: str = "", **parts: Unpack[Parts]) -> Path:
    """Write the nursery of the journeys; `parts` stand in place of its own."""
    return write_nursery(folder, log, **(TEASEL_YARD | parts))


def once(factory: pytest.TempPathFactory, name: str, make: Callable[[], T]) -> T:
    """What the processes of a parallel run share, as JSON: the first that asks makes it, the others read it."""
    in_parallel = "PYTEST_XDIST_WORKER" in os.environ
    file = (factory.getbasetemp().parent if in_parallel else factory.getbasetemp()) / f"{name}.json"
    with FileLock(f"{file}.lock"):
        if not file.is_file():
            file.write_text(json.dumps(make()), encoding="utf-8")
    found: T = json.loads(file.read_text(encoding="utf-8"))
    return found


@pytest.fixture(scope="session", autouse=True)
def _planned_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    with read_once(tmp_path_factory.mktemp("caches")), planned_once():
        yield


@pytest.fixture
def nursery(tmp_path: Path) -> Writes:
    """Writes Teasel Yard and gives its folder: `nursery(log, week=...)`."""

    def write(log: str = "", folder: str = "nursery", **parts: Unpack[Parts]) -> Path:
        return teasel_yard(tmp_path / folder, log, **parts)

    return write
