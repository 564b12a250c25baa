"""Ten invented nurseries, drawn from a seed: other climates, hemispheres, units and habits than the examples.

Takes a folder, gives nurseries as their growers would have written them; knows the files, nothing of the program.
Nobody and nothing in them is real.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from math import cos, pi
from pathlib import Path
from random import Random
from uuid import UUID

COLUMNS = ("id", "date", "what", "lot", "variety", "count", "stage", "bin", "value", "refers", "note", "logged_at")
_DATES = (
    'dates = {{ last_spring = {{ "90%" = "{}", "50%" = "{}", "10%" = "{}" }}, '
    'first_autumn = {{ "10%" = "{}", "50%" = "{}", "90%" = "{}" }} }}'
)


@dataclass(frozen=True)
class Kind:
    """What sets one nursery apart. `habit` is the share of looks and signs its grower logs, `winters` how many."""

    name: str
    site: str
    frost: str
    crops: tuple[str, ...]
    habit: float
    winters: int = 1
    south: bool = False
    us: bool = False
    week: str = 'bench_days = ["tue", "fri", "sun"]'
    more: str = ""
    light: tuple[str, ...] = ("{ ppfd = 110, hours = 16 }",)


def _site(latitude: float, longitude: float, elevation: str, zone: str, country: str = "", region: str = "") -> str:
    return (
        f'latitude = {latitude}\nlongitude = {longitude}\nelevation = "{elevation}"\ntimezone = "{zone}"\n'
        f'country = "{country}"\nregion = "{region}"'
    )


KINDS = (
    Kind(
        "plum-gate",
        _site(42.0, -93.6, "950 ft", "America/Chicago", "US", "IA"),
        'station = "nearest"',
        ("fig", "grape", "black_currant"),
        0.9,
        us=True,
        week='bench_days = ["mon", "thu"]\nbench_time = "19:15"\npost_days = ["mon", "tue"]\nholidays_off = true',
        more='[hardening]\nway = "hours"\n[gnats]\nway = "nematodes"\n[calendar]\nalarm = "morning"\n',
    ),
    Kind(
        "north-quay",
        _site(59.9, 10.7, "20 m", "Europe/Oslo", "NO"),
        'monthly = { lows = ["-7 C", "-7 C", "-3 C", "1 C", "6 C", "10 C", "12 C", "11 C", "7 C", "3 C", "-2 C", '
        '"-6 C"] }',
        ("red_currant", "rose", "willow"),
        0.5,
        2,
        more='[space]\npots_under_light = 12\npots_outside = 25\n[hardening]\nway = "shade"\ncloths = [0.6]\n',
        light=('{ ppfd = 80, hours = 18, where = "window", share = 0.3, on = "05:30" }',),
    ),
    Kind(
        "palm-stair",
        _site(1.35, 103.8, "15 m", "Asia/Singapore", "SG"),
        "dates = { never = true }",
        ("fig", "mulberry"),
        0.8,
        week='bench_days = ["wed", "sat"]',
        more='[gnats]\nway = "drying"\n[sale]\ndormant = false\n',
    ),
    Kind(
        "lee-paddock",
        _site(-43.5, 172.6, "30 m", "Pacific/Auckland", "NZ"),
        'dates = { threshold = "0 C", last_spring = { "90%" = "09-10", "50%" = "10-02" }, '
        'first_autumn = { "50%" = "05-05", "90%" = "06-01" } }',
        ("grape", "elderberry", "fig"),
        0.7,
        2,
        south=True,
        more="[supplies]\nbags = 12\n[sale]\ntransit_days = 6\n",
    ),
    Kind(
        "hedge-end",
        _site(52.2, 0.1, "12 m", "Europe/London", "GB", "ENG"),
        'record = { file = "lows.csv", unit = "C" }',
        ("dogwood", "forsythia", "fig"),
        1.0,
        3,
        more='[hardening]\nway = "shade"\ncloths = [0.7, 0.5, 0.3]\n[gnats]\nway = "traps"\n'
        '[calendar]\nalarm = "bench"\n',
    ),
    Kind(
        "high-flume",
        _site(39.2, -106.3, "10150 ft", "America/Denver", "US", "CO"),
        _DATES.format("07-01", "07-20", "07-28", "08-03", "08-12", "08-30"),
        ("pomegranate", "willow"),
        0.3,
        us=True,
        light=("{ ppfd = 150, hours = 14 }", '{ ppfd = 60, hours = 12, where = "greenhouse", share = 0.6 }'),
    ),
    Kind(
        "blue-terrace",
        _site(-33.4, -70.6, "520 m", "America/Santiago"),
        'monthly = { lows = ["13 C", "12 C", "11 C", "8 C", "6 C", "4 C", "3 C", "4 C", "6 C", "8 C", "10 C", "12 C"], '
        'known = { last_spring = { "50%" = "09-05" } } }',
        ("fig", "grape", "pomegranate"),
        0.6,
        2,
        south=True,
        week='bench_days = ["sat"]\naway = [ { from = 2026-07-18, to = 2026-08-01 } ]',
        more='[hardening]\nway = "hours"\n[space]\npots_under_light = 40\n',
    ),
    Kind(
        "cedar-walk",
        _site(35.7, 139.7, "40 m", "Asia/Tokyo", "JP"),
        _DATES.format("02-20", "03-10", "03-28", "11-15", "12-02", "12-20"),
        ("fig", "rose", "mulberry", "grape"),
        0.95,
        2,
        week='bench_days = ["mon", "wed", "fri"]\nbench_time = "06:45"\nholidays_off = true',
        more="[space]\npots_under_light = 30\nlight = { ppfd = 200, hours = 12 }\n"
        '[hardening]\nway = "shade"\ncloths = [0.5, 0.3]\n',
    ),
    Kind(
        "far-mole",
        _site(-43.9, -176.5, "5 m", "Pacific/Chatham"),
        _DATES.format("08-20", "09-10", "10-01", "05-10", "06-01", "06-25"),
        ("black_currant", "fig"),
        0.0,
        south=True,
        more="[sale]\nrooted = false\n",
    ),
    Kind(
        "polar-shed",
        _site(69.6, 18.9, "60 m", "Europe/Oslo", "NO"),
        _DATES.format("05-10", "05-25", "06-10", "08-28", "09-15", "10-01"),
        ("willow", "red_currant"),
        0.8,
        week='bench_days = ["sun"]',
        light=("{ ppfd = 130, hours = 16 }", "{ ppfd = 90, hours = 18 }"),
        more='[hardening]\nway = "hours"\n[sale]\ndormant = false\nrooted = false\n',
    ),
)


@dataclass
class _Lot:
    """A lot as its grower knows it."""

    id: str
    stage: str
    count: int


@dataclass
class _Book:
    """The rows as they come, in any order; `lots` are those of one number by letter."""

    rows: list[tuple[date, int, dict[str, str]]] = field(default_factory=list)
    letters: dict[str, int] = field(default_factory=dict)

    def log(self, day: date, hour: int, what: str, **cells: object) -> None:
        self.rows.append((day, hour, {"what": what, **{name: str(value) for name, value in cells.items()}}))

    def next_lot(self, number: str) -> str:
        self.letters[number] = self.letters.get(number, -1) + 1
        return number + "abcdefghijklmnopqrstuvwxyz"[self.letters[number]]

    def text(self, until: date) -> str:
        out = io.StringIO()
        writer = csv.DictWriter(out, COLUMNS, restval="", lineterminator="\n")
        writer.writeheader()
        for number, (day, hour, cells) in enumerate(sorted(self.rows, key=lambda row: row[:2]), 1):
            if day <= until:
                stamp = f"{day}T{hour:02}:{number % 60:02}:00.000+00:00"
                writer.writerow({"id": f"r{number}", "date": str(day), **cells, "logged_at": stamp})
        return out.getvalue()


def shortest_day(kind: Kind, winter: int = 2025) -> date:
    """The middle of a winter, by the year it begins in."""
    return date(winter + 1, 6, 21) if kind.south else date(winter, 12, 21)


def write_generated(folder: Path, kind: Kind, until: date) -> Path:
    """Write one of the nurseries, logged up to a day."""
    draw, number = Random(kind.name), KINDS.index(kind)  # no secret hangs on it
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "nursery.toml").write_text(_settings(kind, number), encoding="utf-8")
    lines = [
        f"{at + 1},Invented {at + 1},{kind.crops[at % len(kind.crops)]},{('own', 'swap', 'trade')[at % 3]},"
        f"{'yes' if at == 4 else ''},{4 + at if at % 2 else ''},{12 + at},invented"
        for at in range(6)
    ]
    head = "number,name,crop,source,protected,price_cutting,price_plant,note"
    (folder / "varieties.csv").write_text("\n".join([head, *lines]) + "\n", encoding="utf-8")
    (folder / "logbook.csv").write_text(_logbook(kind, draw).text(until), encoding="utf-8")
    if "lows.csv" in kind.frost:
        (folder / "lows.csv").write_text(_lows(draw), encoding="utf-8")
    return folder


def _settings(kind: Kind, number: int) -> str:
    warm, cool = ("78 F", "68 F") if kind.us else ("25.5 C", "19 C")
    bins = "".join(
        f'[[bin]]\nname = "{name}"\nbags = {bags}\nmat = "{warm}"\nair = "{cool}"\nlight = {light}\n'
        for name, bags, light in zip("AB", (60, 48), kind.light * 2, strict=False)
    )
    return (
        f'[nursery]\nid = "{UUID(int=(number + 1) << 64 | 1 << 76 | 1 << 63)}"\nname = "{kind.name} (invented)"\n'
        f'units = "{"us" if kind.us else "metric"}"\n[site]\n{kind.site}\n[frost]\naccept = 0.{number % 3 + 1}\n'
        f'source = "invented"\n{kind.frost}\n{bins}[week]\n{kind.week}\n{kind.more}'
    )


def _lows(draw: Random) -> str:
    """Daily lows of fifteen years, a late spring fortnight missing here and there."""
    lines = ["date,tmin"]
    for number in range(15 * 365):
        day = date(2005, 1, 1) + timedelta(days=number)
        if not (day.year % 5 == 2 and day.month == 4 and day.day > 16):
            mean = 6.0 - 6.5 * cos(2 * pi * (day.timetuple().tm_yday - 25) / 365)
            lines.append(f"{day},{mean + draw.gauss(0, 3):.1f}")
    return "\n".join(lines) + "\n"


def _logbook(kind: Kind, draw: Random) -> _Book:
    book = _Book()
    for winter in range(2026 - kind.winters, 2026):
        middle = shortest_day(kind, winter)
        book.log(middle - timedelta(days=35), 9, "leaf_fall", value=kind.crops[0])
        for number in range(1, 7):
            _season(book, draw, kind, str(number), middle)
        for name in "AB":
            for day in range(0, 200, 3):
                if draw.random() < kind.habit * 0.9:
                    book.log(middle + timedelta(days=day), 17, "looked", bin=name)
        _bins(book, draw, kind, middle)
    return book


def _bins(book: _Book, draw: Random, kind: Kind, middle: date) -> None:
    """What is logged of a bin itself: settings, gnats on a card, a treatment."""
    if kind.habit < 0.5:
        return
    place, start = draw.choice("AB"), middle + timedelta(days=draw.randrange(20, 40))
    for at, many in enumerate((0, 2, 9, 5, 1, 0)):
        book.log(start + timedelta(days=4 * at), 18, "gnats", bin=place, count=many)
        if many == 9:
            book.log(
                start + timedelta(days=4 * at), 19, "treated", bin=place, value="larvicide, 5 ml a litre (invented)"
            )
    book.log(start + timedelta(days=12), 8, "mat", bin="A", value="75 F" if kind.us else "23 C")
    book.log(start + timedelta(days=25), 8, "lamp", bin="B", value="15 h")
    book.log(start + timedelta(days=32), 8, "air", bin="B", value="66 F" if kind.us else "18 C")


def _season(book: _Book, draw: Random, kind: Kind, number: str, middle: date) -> None:
    """One variety's winter: wood cut, some sold, some stuck in one lot or two, potted, hardened, sold."""
    cut = middle + timedelta(days=draw.randrange(-25, 30))
    store, count = book.next_lot(number), draw.randrange(8, 19)
    if draw.random() < 0.25:
        book.log(cut, 10, "received", lot=store, variety=number, count=count, value=draw.choice(("post", "trade")))
    else:
        book.log(cut, 10, "taken", lot=store, variety=number, count=count)
    if draw.random() < 0.3 and number != "5":
        book.log(cut + timedelta(days=2), 11, "sold", lot=store, count=2, stage="store")
        count -= 2
    stick = cut + timedelta(days=draw.randrange(3, 21))
    if draw.random() < 0.2:
        book.log(stick, 12, "planned", variety=number, count=4, value=stick + timedelta(days=60))
    if draw.random() < 0.4:
        part = count // 2
        second = book.next_lot(number)
        book.log(stick, 12, "stuck", lot=store, count=part, bin=draw.choice("AB"), refers=second)
        _rooting(book, draw, kind, _Lot(second, "rooting", part), stick)
        count -= part
        stick += timedelta(days=draw.randrange(5, 25))
    if draw.random() < 0.8:
        book.log(stick, 13, "stuck", lot=store, bin=draw.choice("AB"))
        _rooting(book, draw, kind, _Lot(store, "rooting", count), stick)


def _rooting(book: _Book, draw: Random, kind: Kind, lot: _Lot, stuck: date) -> None:
    """A lot from sticking to the end, as much of it as its grower logs."""
    clock = stuck
    if draw.random() < 0.3:
        clock += timedelta(days=draw.randrange(8, 16))
        trouble = draw.choice(("mould", "rot", "dry", "wet"))
        book.log(clock, 18, trouble, lot=lot.id)
        if draw.random() < 0.6:
            book.log(clock + timedelta(days=6), 18, "all_clear", lot=lot.id, value=trouble)
        if trouble == "rot":
            book.log(clock, 19, "died", lot=lot.id, count=1, value="rot", stage="rooting")
            lot.count -= 1
        clock += timedelta(days=1)
    clock = max(clock, stuck + timedelta(days=draw.randrange(16, 34)))
    for sign, wait in (("callus", 0), ("roots", 9), ("leaves", 6), ("drawing", 8), ("well_rooted", 6)):
        clock += timedelta(days=wait + draw.randrange(0, 4))
        if draw.random() < kind.habit:
            partly = {"count": draw.randrange(1, lot.count)} if draw.random() < 0.4 and lot.count > 2 else {}
            book.log(clock, 18, sign, lot=lot.id, **partly)
    if draw.random() < kind.habit * 0.4:
        book.log(clock, 19, "temperature", lot=lot.id, value="73 F" if kind.us else "22.5 C")
    if draw.random() < 0.15 + 0.1 * (kind.habit == 0):
        return  # nothing more was ever logged of it
    clock += timedelta(days=draw.randrange(3, 9))
    _potted(book, draw, kind, lot, clock)


def _potted(book: _Book, draw: Random, kind: Kind, lot: _Lot, clock: date) -> None:
    left = draw.randrange(0, 3) if lot.count > 4 else 0
    potted = lot.count - left
    where: Mapping[str, object] = {"count": potted} if left else {}
    book.log(clock, 14, "potted", lot=lot.id, **where)
    if left:
        book.log(clock + timedelta(days=5), 15, "discarded", lot=lot.id, count=left, stage="rooting")
    weight = 480
    for at in range(3):
        if draw.random() < kind.habit * 0.5:
            book.log(clock + timedelta(days=2 + 2 * at), 16, "weighed", lot=lot.id, value=f"{weight - 35 * at} g")
    for what, wait in (("opened", 3), ("opened", 4), ("fed", 16), ("watered", 2)):
        clock += timedelta(days=wait)
        if draw.random() < kind.habit:
            book.log(clock, 16, what, lot=lot.id)
    if draw.random() < 0.35:
        return
    clock += timedelta(days=draw.randrange(10, 40))
    book.log(clock, 9, "set_out", lot=lot.id)
    if draw.random() < 0.2:
        book.log(clock + timedelta(days=2), 18, "scorch", lot=lot.id)
    clock += timedelta(days=draw.randrange(12, 20))
    book.log(clock, 9, "outside", lot=lot.id)
    if draw.random() < 0.6:
        clock += timedelta(days=7)
        book.log(clock, 18, "hardened", lot=lot.id)
        gone = draw.randrange(1, potted + 1)
        what = "planted" if lot.id.startswith("5") else draw.choice(("sold", "gave", "planted", "kept"))
        book.log(clock + timedelta(days=9), 10, what, lot=lot.id, count=gone)
        if gone < potted and draw.random() < 0.6:
            book.log(clock + timedelta(days=120), 9, "resting", lot=lot.id)
            book.log(clock + timedelta(days=240), 9, "woke", lot=lot.id)
