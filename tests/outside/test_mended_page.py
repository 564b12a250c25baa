"""What goes wrong on the bench page, in a real browser at phone size: refused, at fault, undone too much; and mended.

Needs what `test_bench_page` needs. Nursery, numbers and lots are invented.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import threading
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest

from almanac.web.app import create_app
from almanac.web.keys import load_keys
from almanac.web.server import listening
from tests.conftest import once
from tests.nurseries import bench
from tests.outside.test_bench_page import HERE, _missing

pytestmark = pytest.mark.start
DAY, NOW = date(2027, 1, 13), datetime(2027, 1, 13, 17, tzinfo=UTC)
LOG = """
2027-01-05 received 7a --count 12 --stage rooting --bin A
2027-01-05 received 7b --count 8 --stage rooting --bin A
2027-01-12 looked 7a
2027-01-12 looked 7b
"""
Found = dict[str, Any]


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Found:
    """What the driver found."""
    return once(tmp_path_factory, "mended_page", lambda: driven(tmp_path_factory.mktemp("mended")))


def driven(folder: Path) -> Found:
    if reason := _missing():
        if os.environ.get("STICKDATE_CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    bench(folder, LOG, DAY)
    server = listening(create_app(folder, lambda: NOW, ["127.0.0.1"]), "127.0.0.1", 0)
    threading.Thread(target=server.run, daemon=True).start()
    given = {
        "base": f"http://127.0.0.1:{server.effective_port}",
        "key": load_keys(folder).write,
        "logbook": str(folder / "logbook.csv"),
        "chromium": shutil.which("chromium"),
    }
    try:
        command = ["node", str(HERE / "mended_page.mjs"), json.dumps(given)]
        done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=240)
    finally:
        server.task_dispatcher.shutdown()
        server.close()
    assert done.returncode == 0, done.stderr
    result: Found = json.loads(done.stdout)
    return result


def test_the_pages_to_subscribe_pair_log_and_undo_fit_a_phone_and_axe_has_no_complaint(found: Found) -> None:
    assert found["axe"] == []
    assert found["wide"] == []


def test_the_calendars_address_is_copied_by_a_tap(found: Found) -> None:
    assert found["copied"] == "Copied"


def test_what_was_refused_opens_as_a_filled_form_and_is_logged_once_it_is_mended(found: Found) -> None:
    assert found["refused"].startswith("Not logged: Roots 90 7a. 7a has 12; roots cannot show on 90.")
    assert found["filled"] == ["7a", "90"]
    assert found["remedy"] == "7a has 12; roots cannot show on 90."
    assert found["mended"] == 1
    assert found["keptAfter"] == ""


def test_what_is_tapped_while_a_file_is_at_fault_is_kept_and_sent_once_it_is_mended(found: Found) -> None:
    assert "The nursery's files need mending" in found["atFault"]
    assert "1 kept here, not sent yet" in found["atFault"]
    assert "Logged" not in found["atFault"]
    assert found["sentOnce"] == 1


def test_a_row_of_yesterday_is_undone_in_two_taps_after_it_was_asked_and_restored_in_one(found: Found) -> None:
    assert "Looked: 7a, Tue 12 Jan" in found["asked"]
    assert found["taps"] == {"undone": 2, "restored": 1}
    assert (found["voided"], found["voidedTwice"]) == (1, 2)
