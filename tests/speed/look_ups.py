"""What looking up a town and its nearest station costs, tables included: `python tests/speed/look_ups.py [RUNS]`.

Each run is a fresh interpreter, so that the tables are read anew; the floor unpacks the same two tables and splits
their lines. For information: nothing fails here. Wanted: under 50 ms together.
"""

from __future__ import annotations

import subprocess
import sys
from statistics import median

START = "import time\nimport almanac.nursery.settings, gzip\nstart = time.perf_counter()\n"
END = "print(1000 * (time.perf_counter() - start))\n"
LOOK_UP = """\
from almanac.site.stations import nearest
from almanac.site.towns import find_town
town = find_town("Ames, Iowa")
nearest(town.latitude_deg, town.longitude_deg, None)
"""
FLOOR = """\
from importlib.resources import files
for name in ("towns.tsv.gz", "stations.tsv.gz"):
    text = gzip.decompress(files("almanac.site").joinpath("data", name).read_bytes()).decode()
    rows = [line.split("\\t") for line in text.splitlines()]
"""


def ms(program: str) -> float:
    """How long a program runs after what every command has imported [ms]."""
    command = [sys.executable, "-c", START + program + END]
    return float(subprocess.run(command, capture_output=True, text=True, check=True).stdout)


def main(runs: int) -> None:
    """Measure both in turn."""
    floors, found = zip(*((ms(FLOOR), ms(LOOK_UP)) for _ in range(runs)), strict=True)
    low, high = median(floors), median(found)
    print(f"town and station: {high:.0f} ms, floor {low:.0f} ms, ratio {high / low:.2f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 9)
