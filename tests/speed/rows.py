"""What one row more costs by the rows there are: `python -m tests.speed.rows`. For information.

Logs a note in nurseries of 1,000, 3,000 and 10,000 rows with a calendar, and prints CPU seconds and the exponent: 1 is
linear in the length of the logbook. The nurseries are invented.
"""

from __future__ import annotations

import tempfile
from pathlib import Path
from time import process_time

from almanac.actions.record import record
from almanac.actions.refresh import refresh
from almanac.actions.request import Request
from tests.journeys.test_phones_together import NOW, log_of
from tests.nurseries import bench
from tests.speed.forecast import exponent

SIZES = (1_000, 3_000, 10_000)
TIMES = 3


def main() -> None:
    """Measure."""
    taken = []
    for rows in SIZES:
        with tempfile.TemporaryDirectory() as made:
            folder = bench(Path(made), log_of(rows), NOW.date(), bags=48).folder
            refresh(folder, NOW)
            seconds = []
            for _ in range(TIMES):
                start = process_time()
                record(folder, NOW, Request(what="noted", about=("8a",), note="one more"))
                seconds.append(process_time() - start)
            taken.append(min(seconds))
            print(f"{rows:6} rows: {taken[-1]:.2f} s a row", flush=True)
    print(f"a row's cost grows as the logbook to the power {exponent(SIZES, taken):.2f} (wanted: at most 1.1)")


if __name__ == "__main__":
    main()
