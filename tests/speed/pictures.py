"""How long pictures and papers of many lots take beside the calendar: `python -m tests.speed.pictures [LOTS]`.

Invents a nursery of so many lots (300 unless said) in one winter, all open, and runs each command in an interpreter of
its own. Prints CPU seconds, how many times those of `calendar`, peak memory and the size of the file. For information.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from datetime import date, timedelta
from pathlib import Path

from tests.nurseries import write_nursery

AS_OF = date(2026, 2, 20)


def nursery(folder: Path, lots: int) -> Path:
    """Lots stuck through two months, some of them further on."""
    varieties = "number,name,crop\n" + "".join(f"{n},Invented variety number {n},fig\n" for n in range(1, 31))
    rows = []
    for n in range(lots):
        stuck, lot = date(2025, 12, 1) + timedelta(days=n % 60), f"{1 + n % 30}{_letters(n // 30)}"
        rows.append((stuck, f"received {lot} --count {6 + n % 7} --stage rooting --bin {'ABC'[n % 3]}"))
        if n % 2:
            rows.append((min(stuck + timedelta(days=30), AS_OF), f"roots {lot} --count 2"))
        rows.append((AS_OF - timedelta(days=n % 5), f"looked {lot}"))
    log = "\n".join(f"{day} {words}" for day, words in sorted(rows, key=lambda row: row[0]))
    return write_nursery(folder, log, bins="ABC", bags=5000, varieties=varieties)


def _letters(number: int) -> str:
    return chr(ord("a") + number)


def measured(folder: Path, *words: str) -> tuple[float, float]:
    """CPU seconds and peak memory [MB] of a command."""
    code = (
        "import resource, sys; from almanac.cli.main import main\n"
        "try: main()\nexcept SystemExit: pass\n"
        "found = resource.getrusage(resource.RUSAGE_SELF)\n"
        "print(found.ru_utime + found.ru_stime, found.ru_maxrss / 1024, file=sys.stderr)"
    )
    command = (sys.executable, "-c", code, "--nursery", str(folder), "--as-of", str(AS_OF), *words)
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    seconds, megabytes = map(float, done.stderr.split()[-2:])
    return seconds, megabytes


def main() -> None:
    """Measure and print."""
    lots = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    with tempfile.TemporaryDirectory() as scratch:
        folder, out = nursery(Path(scratch) / "nursery", lots), Path(scratch)
        whole, memory = measured(folder, "calendar", "--out", str(out / "feeds"))
        print(f"{lots} lots: calendar {whole:.1f} s, {memory:.0f} MB")
        for words, name in (
            (("chart",), "season.svg"), (("chart",), "season.pdf"), (("chart",), "season.png"),
            (("sheet",), "bench.pdf"), (("tags", "--each", "--page", "http://shed.local:8765/"), "bags.pdf"),
            (("calendar", "--pdf"), "wall.pdf"),
        ):  # fmt: skip
            seconds, memory = measured(folder, *words, str(out / name))
            size = (out / name).stat().st_size / 1000
            times = f"{seconds:.1f} s, {seconds / whole:.2f} times"
            print(f"{words[0]} {name}: {times}, {memory:.0f} MB, {size:.0f} kB")


if __name__ == "__main__":
    main()
