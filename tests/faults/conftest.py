"""What the catalogue of faults begins with."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faults.bench import make_nursery, run


@pytest.fixture(scope="module")
def good(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A faultless nursery with a calendar made before."""
    folder = make_nursery(tmp_path_factory.mktemp("good") / "lane")
    assert run("--nursery", folder, "calendar").status == 0
    return folder
