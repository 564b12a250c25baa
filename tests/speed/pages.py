"""What the phone's pages cost: `python -m tests.speed.pages [LOTS ...]`, of 30 and 300 open lots on a day of a round.

Prints for the bench and for one lot's page the bytes before and after packing, script and style with the bench, and
milliseconds of CPU: the first time after a change, and warm, while the files stay the same. Wanted: the bench of 30
lots under 40 KB on the wire, with its script and style; that of 300 under 300 ms warm. For information: nothing fails
here.
"""

from __future__ import annotations

import argparse
import tempfile
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from statistics import median
from time import process_time

from flask.testing import FlaskClient

from almanac.web.app import create_app
from almanac.web.keys import load_keys
from tests.nurseries import bench

TODAY = date(2027, 2, 12)
CROPS = ("fig", "grape", "pomegranate", "mulberry")
EVERY_DAY = 'bench_days = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]'


def invented(folder: Path, lots: int) -> None:
    """So many open lots, two thirds in bins of forty, the rest in pots and in store. Nothing in it is real."""
    numbers = range(1, lots // 3 + 2)
    table = "number,name,crop,source,protected\n"
    table += "".join(f"{number},Invented {number},{CROPS[number % len(CROPS)]},,\n" for number in numbers)
    bins = [chr(ord("A") + n) for n in range(lots * 2 // 3 // 40 + 1)]
    log = []
    for n in range(lots):
        lot, day = f"{n // 3 + 1}{'abc'[n % 3]}", TODAY - timedelta(days=20 + n % 25)
        stage = ("rooting", "rooting", ("pot", "store")[n // 3 % 2])[n % 3]
        where = f" --bin {bins[(n // 3 * 2 + n % 3) // 40]}" if stage == "rooting" else ""
        log.append((day, f"received {lot} --count 10 --stage {stage}{where}"))
        if stage == "rooting" and n % 2:
            log.append((TODAY - timedelta(days=4), f"looked {lot}"))
    rows = "\n".join(f"{day} {words}" for day, words in sorted(log))
    bench(folder, rows, TODAY, bins=bins, bags=60, varieties=table, week=EVERY_DAY)


def cpu_ms(phone: FlaskClient, path: str) -> float:
    start = process_time()
    assert phone.get(path, headers={"Accept-Encoding": "gzip"}).status_code == 200
    return (process_time() - start) * 1000


def measure(folder: Path, lots: int) -> None:
    """Print what the pages of a nursery cost."""
    now = datetime(TODAY.year, TODAY.month, TODAY.day, 17, tzinfo=UTC)
    phone = create_app(folder, lambda: now, ["localhost"]).test_client()
    phone.get(f"/k/{load_keys(folder).write}")
    first = cpu_ms(phone, "/")
    packed = {"Accept-Encoding": "gzip"}
    assets = sum(len(phone.get(f"/look/page.{kind}", headers=packed).data) for kind in ("js", "css"))
    for path in ("/", "/lot/1a"):
        cpu_ms(phone, path)
        warm = median(cpu_ms(phone, path) for _ in range(9))
        plain = len(phone.get(path).data)
        wire = len(phone.get(path, headers=packed).data)
        print(f"{lots} lots, {path}: {plain / 1024:.0f} KB, {wire / 1024:.1f} KB packed,", end=" ")
        print(f"{warm:.0f} ms of CPU warm", end="\n" if path != "/" else "")
        if path == "/":
            print(f", {first:.0f} the first time; script and style {assets / 1024:.1f} KB packed")


def main() -> None:
    """Measure."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("lots", nargs="*", type=int, default=(30, 300))
    for lots in options.parse_args().lots:
        with tempfile.TemporaryDirectory() as made:
            invented(Path(made), lots)
            measure(Path(made), lots)


if __name__ == "__main__":
    main()
