"""How the commands bear a nursery of many winters: `python tests/speed/scale.py [LOTS ...]`.

Invents nurseries of 100, 1,000, 3,000 and 10,000 lots over five winters, the same each time, and in each runs
`calendar` with no feeds yet, `log leaves`, and `calendar` anew on the day after. Prints CPU seconds and peak memory of
each command, and the exponent between sizes: 1 is linear. `--keep FOLDER` leaves the nurseries there; with
`--only-write` nothing is run. For information: nothing fails here.
"""

from __future__ import annotations

import argparse
import csv
import os
import random
import shutil
import sys
import tempfile
from dataclasses import dataclass, field
from datetime import date, timedelta
from math import log
from pathlib import Path

AS_OF = date(2026, 2, 20)
SIZES = (100, 1_000, 3_000, 10_000)
WINTERS = (2021, 2022, 2023, 2024, 2025)
CROPS = ("fig", "fig", "fig", "grape", "pomegranate", "mulberry")
COLUMNS = ["id", "date", "what", "lot", "variety", "count", "stage", "bin", "value", "refers", "note", "logged_at"]
SETTINGS = """\
# Ten Thousand Bags: an invented nursery, to measure the program by. Nobody and nothing in it is real.
[nursery]
id = "3f3dd3a2-0d0e-4c54-9d3a-2f1c5b0e9d77"
name = "Ten Thousand Bags"
units = "metric"

[site]
latitude = 49.2
longitude = 16.61
elevation = "230 m"
timezone = "Europe/Prague"
country = "CZ"

[frost]
accept = 0.10
source = "invented for this measurement"
dates = { threshold = "0 C", last_spring = { "90%" = "04-08", "50%" = "04-22", "10%" = "05-08" }, \
first_autumn = { "10%" = "10-02", "50%" = "10-17", "90%" = "11-03" } }

[week]
bench_days = ["mon", "thu"]

[sale]
dormant = true
rooted = true

[hardening]
way = "shade"
cloths = [0.7, 0.4]
"""
A_BIN = '\n[[bin]]\nname = "B{}"\nbags = 600\nmat = "{} C"\nair = "19 C"\nlight = {{ ppfd = 100, hours = 16 }}\n'


@dataclass
class Invented:
    """A nursery being made up: what was logged by day, and the letters that are taken."""

    lots: int
    draw: random.Random
    rows: list[tuple[date, dict[str, object]]] = field(default_factory=list)
    orders: list[tuple[object, ...]] = field(default_factory=list)
    letters: dict[int, int] = field(default_factory=dict)

    @property
    def varieties(self) -> int:
        return max(self.lots // 50, 4)

    @property
    def bins(self) -> int:
        return max(self.lots // 250, 2)

    def log(self, day: date, what: str, **cells: object) -> None:
        if day <= AS_OF:
            self.rows.append((day, {"what": what, **cells}))

    def next_lot(self, number: int) -> str:
        place = self.letters.get(number, 0) + 1
        self.letters[number] = place
        text = ""
        while place:
            place, rest = divmod(place - 1, 26)
            text = chr(97 + rest) + text
        return f"{number}{text}"


def invented(lots: int) -> Invented:
    """So many lots over five winters, spread evenly, with all that befell them."""
    it = Invented(lots, random.Random(lots))
    for n in range(lots):
        winter = WINTERS[n * len(WINTERS) // lots]
        _lot(it, 1 + n % it.varieties, date(winter, 11, 10) + timedelta(days=it.draw.randrange(70)))
    for winter in WINTERS:
        for number in range(it.bins):
            _bin(it, f"B{number}", winter)
    for winter in range(WINTERS[-1] - WINTERS[0] + 1):
        it.log(date(WINTERS[0] + winter, 11, 8), "leaf_fall", value="fig")
    return it


def _bin(it: Invented, name: str, winter: int) -> None:
    """A bin's winter: its lamp, its mat, two looks a week, and gnats in one of three."""
    first, last = date(winter, 11, 11), date(winter + 1, 4, 30)
    it.log(date(winter, 12, 20), "lamp", bin=name, value="16 h")
    it.log(date(winter + 1, 1, 15), "mat", bin=name, value=f"{it.draw.randrange(23, 26)} C")
    it.log(date(winter + 1, 1, 28), "temperature", bin=name, value=f"{it.draw.randrange(22, 26)} C")
    it.log(date(winter + 1, 4, 25), "lamp", bin=name, value="off")
    day = first
    while day <= last:
        if day.weekday() in (0, 3) and it.draw.random() < 0.9:
            it.log(day, "looked", bin=name)
        day += timedelta(days=1)
    if it.draw.random() < 0.33:
        seen = date(winter + 1, 1, 5) + timedelta(days=it.draw.randrange(60))
        it.log(seen, "gnats", bin=name, count=it.draw.randrange(1, 9))
        it.log(seen + timedelta(days=2), "treated", bin=name, value="larvicide")
        it.log(seen + timedelta(days=7), "gnats", bin=name, count=it.draw.randrange(3))
        it.log(seen + timedelta(days=21), "all_clear", bin=name, value="gnats")


def _lot(it: Invented, number: int, begun: date) -> None:
    """One lot from the knife to the buyer, or as far as it has come."""
    draw, lot, count = it.draw, it.next_lot(number), it.draw.randrange(6, 17)

    def after(day: date, low: int, high: int) -> date:
        return day + timedelta(days=draw.randrange(low, high + 1))

    what = ("received", {"value": "post"}) if draw.random() < 0.1 else ("taken", {})
    it.log(begun, what[0], lot=lot, variety=number, count=count, **what[1])
    day = after(begun, 3, 18)
    if draw.random() < 0.15:
        part = draw.randrange(1, 4)
        order = _order(it, number, "dormant", part, begun, day) if draw.random() < 0.3 else ""
        it.log(day, "sold", lot=lot, count=part, stage="store", refers=order)
        count -= part
    bench = f"B{draw.randrange(it.bins)}"
    if begun > date(2026, 1, 5) and draw.random() < 0.4:
        return  # still in the cold
    day = after(day, 0, 3)
    if count > 5 and draw.random() < 0.08:  # part of it is stuck as a lot of its own, the rest sold from the store
        part, new = count - 3, it.next_lot(number)
        it.log(day, "stuck", lot=lot, count=part, bin=bench, refers=new)
        it.log(after(day, 4, 20), "gave", lot=lot, count=3, stage="store")
        lot, count = new, part
    else:
        it.log(day, "stuck", lot=lot, bin=bench)
    stuck = day
    if draw.random() < 0.05:
        it.log(after(stuck, 8, 20), "mould", lot=lot)
        it.log(after(stuck, 21, 22), "discarded", lot=lot, count=count)
        return
    if draw.random() < 0.4:
        it.log(after(stuck, 9, 14), "callus", lot=lot, count=min(count, 3))
    if draw.random() < 0.5:
        it.log(after(stuck, 11, 16), "budbreak", lot=lot)
    if draw.random() < 0.08:
        it.log(after(stuck, 15, 17), "moved", lot=lot, bin=f"B{draw.randrange(it.bins)}")
    rooted = after(stuck, 17, 32)
    it.log(rooted, "roots", lot=lot, count=1 + draw.randrange(count))
    leaves = after(rooted, 1, 12)
    it.log(leaves, "leaves", lot=lot, count=1 + draw.randrange(count))
    if draw.random() < 0.15:
        it.log(leaves, "weighed", lot=lot, value=f"{draw.randrange(300, 420)} g")
    if draw.random() < 0.06:
        it.log(leaves, "gnats", lot=lot, count=draw.randrange(1, 4))
        it.log(after(leaves, 12, 20), "all_clear", lot=lot)
    opened = after(leaves, 2, 5)
    for turn in range(2):
        it.log(opened + timedelta(days=3 * turn), "opened", lot=lot, stage="rooting")
    if draw.random() < 0.5:
        it.log(after(opened, 4, 6), "drawing", lot=lot)
        it.log(after(opened, 7, 8), "watered", lot=lot)
    potted, dead = after(opened, 9, 18), min(draw.randrange(3), count - 1)
    if draw.random() < 0.6:
        it.log(potted, "well_rooted", lot=lot)
    it.log(potted, "potted", lot=lot, count=count - dead)
    if dead:
        it.log(potted, "died", lot=lot, count=dead, stage="rooting", value="no_roots")
    count -= dead
    it.log(after(potted, 10, 20), "watered", lot=lot)
    out = date(begun.year + (begun.month > 6), 5, 6) + timedelta(days=draw.randrange(10))
    it.log(out, "set_out", lot=lot)
    it.log(out + timedelta(days=12), "outside", lot=lot)
    it.log(out + timedelta(days=14), "hardened", lot=lot)
    keeps = draw.random() < 0.03
    for share in range(2):
        part = count // 2 if share == 0 else count - count // 2
        if not part or (share == 1 and keeps):
            continue  # these stay in their pots for years
        away = after(out, 20 + 40 * share, 55 + 40 * share)
        order = _order(it, number, "rooted", part, out, away) if draw.random() < 0.1 else ""
        what_then = "sold" if order or draw.random() < 0.7 else "planted"
        it.log(away, what_then, lot=lot, count=part, stage="outside", refers=order)
    if keeps:
        it.log(date(out.year, 11, 12), "resting", lot=lot)
        it.log(date(out.year + 1, 4, 8), "woke", lot=lot)
    if draw.random() < 0.02:
        it.log(after(rooted, 1, 2), "noted", lot=lot, note="a slip of the pen", undone=True)


def _order(it: Invented, number: int, form: str, count: int, placed: date, sent: date) -> str:
    """An order placed on a day and sent on another, in both files as the program would have it."""
    if sent > AS_OF:
        return ""
    name = str(len(it.orders) // 2 + 1)
    it.orders.append((name, placed, number, form, count, "", "", "", "", ""))
    it.orders.append((name, sent, number, form, count, "", "", "", sent, ""))
    return name


def write(it: Invented, folder: Path) -> str:
    """The nursery's files; returns a lot that may show its leaves."""
    folder.mkdir(parents=True)
    bins = "".join(A_BIN.format(number, 23 + number % 3) for number in range(it.bins))
    (folder / "nursery.toml").write_text(SETTINGS + bins, "utf-8")
    with (folder / "varieties.csv").open("w", encoding="utf-8", newline="") as stream:
        table = csv.writer(stream, lineterminator="\n")
        table.writerow(("number", "name", "crop", "protected", "price_cutting", "price_plant"))
        for number in range(1, it.varieties + 1):
            crop, yes = CROPS[number % len(CROPS)], "yes" if number % 17 == 0 else ""
            table.writerow((number, f"Invented {number}", crop, yes, 4, 16))
    with (folder / "logbook.csv").open("w", encoding="utf-8", newline="") as stream:
        log_table = csv.DictWriter(stream, COLUMNS, lineterminator="\n")
        log_table.writeheader()
        number = 0
        for day, cells in sorted(it.rows, key=lambda item: item[0]):
            number += 1
            undone = cells.pop("undone", False)
            moment = f"{day}T18:{number // 60 % 60:02d}:{number % 60:02d}.000+01:00"
            log_table.writerow({"id": f"r{number}", "date": day, "logged_at": moment, **cells})
            if undone:
                number += 1
                void = {"what": "void", "refers": f"r{number - 1}"}
                log_table.writerow({"id": f"r{number}", "date": day, "logged_at": moment, **void})
    shutil.copy(folder / "logbook.csv", folder / "logbook.backup.csv")
    with (folder / "orders.csv").open("w", encoding="utf-8", newline="") as stream:
        table = csv.writer(stream, lineterminator="\n")
        table.writerow(["order", "date", "variety", "form", "count", "ship_by", "country", "region", "done", "note"])
        table.writerows(it.orders)
    shutil.copy(folder / "orders.csv", folder / "orders.backup.csv")
    shown = {cells.get("lot") for _, cells in it.rows if cells["what"] in ("leaves", "potted", "discarded")}
    stuck = [cells for day, cells in it.rows if cells["what"] == "stuck" and day > AS_OF - timedelta(days=60)]
    return str(next(cells.get("refers") or cells["lot"] for cells in stuck if cells["lot"] not in shown))


def run(folder: Path, as_of: date, *words: str) -> tuple[float, float]:
    """CPU seconds and peak memory [MB] of a command in a process of its own."""
    command = [sys.executable, "-m", "almanac.cli.main", "--nursery", str(folder), "--as-of", str(as_of), *words]
    process = os.posix_spawn(
        command[0], command, os.environ, file_actions=[(os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0)]
    )
    _, status, used = os.wait4(process, 0)
    if status:
        raise SystemExit(f"{' '.join(words)} failed")
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def main() -> None:
    """Write the nurseries and measure."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("lots", nargs="*", type=int, default=SIZES)
    options.add_argument("--keep", type=Path)
    options.add_argument("--only-write", action="store_true")
    asked = options.parse_args()
    before: dict[str, tuple[int, float]] = {}
    with tempfile.TemporaryDirectory() as made:
        for lots in asked.lots:
            it, folder = invented(lots), (asked.keep or Path(made)) / f"lots-{lots}"
            lot = write(it, folder)
            print(f"{lots} lots, {len(it.rows)} rows, {it.bins} bins, {len(it.orders) // 2} orders", flush=True)
            for name, day, words in (
                ("calendar", AS_OF, ("calendar",)),
                ("log leaves", AS_OF, ("log", "leaves", lot)),
                ("calendar, next day", AS_OF + timedelta(days=1), ("calendar",)),
            ):
                if asked.only_write:
                    break
                seconds, megabytes = run(folder, day, *words)
                told = f"  {name}: {seconds:.1f} s CPU, {megabytes:.0f} MB"
                if name in before:
                    fewer, quicker = before[name]
                    told += f", exponent {log(seconds / quicker) / log(lots / fewer):.2f}"
                before[name] = lots, seconds
                print(told, flush=True)


if __name__ == "__main__":
    main()
