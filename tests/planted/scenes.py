"""The scenes: what is run on one nursery on one day, or in one week in which it is logged to, and what it showed.

They speak to the program through the command and the page alone; the clock and keys are fixed.
"""

from __future__ import annotations

import contextlib
import io
import json
import random
import re
import secrets
import shlex
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import Any

from tests.planted.generated import KINDS, Kind, shortest_day, write_generated

EXAMPLES = Path(__file__).parents[2] / "examples"
# The day each example stands on, and others of its year: wood, rooting, summer, the next winter.
EXAMPLE_DAYS = {
    "quince-lane": ("2025-12-14", "2026-01-20", "2026-02-24", "2026-05-02", "2026-11-20"),
    "two-sheds": ("2026-06-12", "2026-08-09", "2026-10-20", "2027-01-15"),
    "harbour-wall": ("2025-12-20", "2026-02-28", "2026-06-15"),
    "osier-row": ("2025-12-30", "2026-02-10", "2026-04-20", "2026-12-05"),
    "millrace": ("2024-02-01", "2026-02-19", "2026-06-01"),
}
LATER = datetime(2028, 1, 1, 12, tzinfo=UTC)
_STAMPS = re.compile(r"^(DTSTAMP|LAST-MODIFIED):.*\r?\n", re.MULTILINE)
_UUID = re.compile(r"\b[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}\b")
Sections = dict[str, str]
# What is logged of a lot in each stage: a nursery plays every other of these.
STEPS = {
    "store": ("stuck {} --count 2", "sold {} --count 1 --stage store", "pushing {}"),
    "rooting": (
        "roots {} --count 1",
        "mould {}",
        "potted {} --count 1",
        "died {} --count 1 --stage rooting --value rot",
    ),
    "pot": ("opened {} --stage pot", "weighed {} --value '410 g'", "set_out {}", "scorch {}", "outside {}"),
    "outside": ("hardened {}", "resting {}", "sold {} --count 1 --stage outside", "brought_in {} --count 1"),
}
REFUSED = ("potted 99z", "stuk 1a", "sold 1a --count 900", "mat --bin Nowhere --value '74 F'")


@dataclass(frozen=True)
class Scene:
    """One thing to look at, in a folder of its own; `play` gives its sections, titled by the command."""

    name: str
    play: Callable[[Path], Sections]
    quick: bool = False


class Stand:
    """A nursery's folder, a clock, and what the program said so far."""

    def __init__(self, folder: Path, now: datetime) -> None:
        self.folder, self.now = folder, now
        self.said: Sections = {}

    def run(self, *arguments: str, day: str = "", nursery: bool = True) -> str:
        """Run one command; what it printed is kept, its stdout given back."""
        before = ("--nursery", str(self.folder)) if nursery else ()
        status, out, err = _command(self.now, *before, *(("--as-of", day) if day else ()), *arguments)
        self.keep(" ".join(filter(None, (day, *arguments))), f"{out}{err}status {status}\n")
        return out

    def json(self, *arguments: str, day: str = "") -> Any:
        out = self.run(*arguments, "--json", day=day)
        try:
            return json.loads(out)
        except ValueError:
            return {}

    def keep(self, title: str, text: str) -> None:
        title, number = self._anywhere(title), 2
        while title in self.said:
            title, number = f"{title.split(' #')[0]} #{number}", number + 1
        self.said[title] = _STAMPS.sub("", self._anywhere(text))

    def _anywhere(self, text: str) -> str:
        """The same wherever nursery and program lie."""
        program = str(Path(str(import_module("almanac").__file__)).parents[1])
        return text.replace(str(self.folder), "NURSERY").replace(program, "PROGRAM")

    def file(self, path: Path) -> None:
        text = path.read_bytes().decode("utf-8", "replace") if path.is_file() else "no such file\n"
        self.keep(f"file {path.name}", text)


def _command(now: datetime, *arguments: str) -> tuple[object, str, str]:
    from almanac.cli.main import main

    common: Any = import_module("almanac.cli.common")

    class Clock(datetime):
        @classmethod
        def now(cls, tz: Any = None) -> Any:
            return now.astimezone(tz) if tz else now.replace(tzinfo=None)

    kept, status = (sys.argv, common.datetime), 0
    sys.argv, common.datetime = ["stickdate", *arguments], Clock
    out, err = io.StringIO(), io.StringIO()
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            main()
    except SystemExit as done:
        status = done.code  # type: ignore[assignment]
    except Exception as error:  # what a defect looks like is seen, too
        status = f"{type(error).__name__}: {error}"  # type: ignore[assignment]
    finally:
        sys.argv, common.datetime = kept
    return status, out.getvalue(), err.getvalue()


def _remember_looks() -> None:
    """One plan a nursery and day serves all commands that only look: plans are values, and this halves the time."""
    try:
        from almanac.actions import look as module

        real = module.look
    except (ImportError, AttributeError):
        return
    if getattr(real, "remembers", False):
        return
    last: list[tuple[object, object]] = []

    def look(folder: Path, now: datetime, as_of: date | None = None, calendar: Path | None = None) -> object:
        files = [
            each for each in sorted(folder.rglob("*")) if each.is_file() and each.suffix in (".csv", ".toml", ".ics")
        ]
        key = (folder, now, as_of, calendar, tuple((str(each), each.read_bytes()) for each in files))
        if not last or last[0][0] != key:
            last[:] = [(key, real(folder, now, as_of, calendar))]
        return last[0][1]

    look.remembers = True  # type: ignore[attr-defined]
    module.look = look  # type: ignore[assignment]


def _on_a_day(make: Callable[[Path], Path], day: str, full: bool, folder: Path) -> Sections:
    """Everything that only looks, on one day of a nursery, and its calendar on that day and two later ones."""
    stand = Stand(make(folder), LATER)
    said = stand.json("today", "--days", "366", day=day)
    lots = [each["lot"] for each in stand.json("lots", day=day).get("lots", ())]
    for command in ("season", "space", "buy", "forsale", "strike", "check"):
        stand.json(command, day=day)
        stand.run(command, day=day)
    stand.json("order", "--all", day=day)
    stand.run("order", day=day)
    stand.json("site", *(("--every", "day") if full else ()), day=day)
    stand.run("site", "--accept", "0.05", day=day)
    stand.run("today", "--days", "12", day=day)
    stand.run("lots", "--closed", day=day)
    for lot in lots[:: max(len(lots) // 4, 1)]:
        stand.run("lots", lot, day=day)
    for name in _to_ask(said, lots):
        stand.run("why", name, day=day)
        stand.json("why", name, day=day)
    ahead = date.fromisoformat(day)
    stand.run("strike", "--plants", "12", "--variety", "1", day=day)
    if full:
        for days, plants in ((150, 10), (400, 60)):
            stand.json("stick-by", str(ahead + timedelta(days)), "--plants", str(plants), "--variety", "2", day=day)
        stand.run("stick-by", str(ahead + timedelta(220)), "--plants", "25", "--variety", "1", day=day)
    out, changes = stand.folder / "out", stand.folder / "changes.ics"
    stand.run("forsale", "--csv", str(stand.folder / "sale.csv"), "--html", str(stand.folder / "sale.html"), day=day)
    for name in ("sale.csv", "sale.html"):
        stand.file(stand.folder / name)
    for after in (0, 1, 9):
        later = str(ahead + timedelta(after))
        stand.run("calendar", "--out", str(out), "--changes", str(changes), "--json", day=later)
        stand.file(out / "everything.ics")
        stand.file(changes)
    for name in ("bench.ics", "seasons.ics", "sales.ics"):
        stand.file(out / name)
    return stand.said


def _to_ask(said: Mapping[str, Any], lots: list[str]) -> list[str]:
    """An entry of each rule, and the milestones of three lots."""
    ids = [each["id"] for part in ("overdue", "windows", "coming") for each in said.get(part, ())]
    rounds = said.get("rounds", ())
    ids += [job["id"] for each in rounds[:6] for part in ("looks", "jobs") for job in each.get(part, ())]
    by_rule: dict[str, str] = {}
    for name in ids:
        by_rule.setdefault(name.split(".")[1].split("~")[0] if "." in name else name, name)
    signs = ("callus", "roots", "leaves", "well_rooted", "potted", "outside", "hardened")
    asked = [f"{lot}.{sign}" for lot, sign in zip(lots * 7, signs, strict=False)]
    return [*by_rule.values(), *(each["id"] for each in rounds[:2]), *asked, "9z.roots"]


def _logged_to(make: Callable[[Path], Path], start: str, folder: Path) -> Sections:
    """A week and more in which the nursery is logged to, from the command and then seen on the page."""
    stand = Stand(make(folder), datetime.fromisoformat(f"{start}T17:00+00:00"))
    bins = re.findall(r'\[\[bin\]\]\s+name = "(\w+)"', (stand.folder / "nursery.toml").read_text(encoding="utf-8"))
    today = (stand.now + timedelta(days=12)).date()
    stand.run("calendar")
    stand.run("log", "looked", "--bin", bins[0])
    stand.run("log", "gnats", "--bin", bins[-1], "--count", "0")
    stand.run("log", "gnats", "--bin", bins[0], "--count", "4", "--json")
    stand.run("log", "taken", "3", "--count", "9")
    stand.run("forsale")
    stand.run(
        "order", "3", "--form", "dormant", "--count", "4", "--ship-by", str(today), "--country", "US", "--region", "VA"
    )
    stand.run("order", "3", "--form", "dormant", "--count", "2", "--ship-by", str(today), "--json")
    stand.run("order", "--ship", "1", "--count", "1")
    stand.run("order", "--cancel", "2")
    stand.run("order", "--json")
    _each_stage(stand, bins)
    stand.now += timedelta(days=1)
    stand.run("calendar", "--json")
    stand.run("log", "planned", "2", "--count", "6", "--value", str(today), "--json")
    stand.run("log", "mat", "--bin", bins[0], "--value", "74 F")
    stand.run("log", "looked", "--all")
    stand.run("order", "--ship", "1")
    stand.run("undo")
    stand.run("order", "--all")
    stand.run("stick-by", str(today + timedelta(days=180)), "--plants", "6", "--variety", "1", "--accept", "50%")
    stand.run("undo", "r3")
    stand.now += timedelta(days=6)
    for command in (("calendar", "--json"), ("today",), ("lots", "--json"), ("forsale", "--json"), ("check",)):
        stand.run(*command)
    _pages(stand)
    stand.now += timedelta(days=30)
    stand.run("calendar", "--json")
    for name in ("logbook.csv", "orders.csv", "calendar/everything.ics"):
        stand.file(stand.folder / name)
    return stand.said


def _each_stage(stand: Stand, bins: list[str]) -> None:
    """What may be logged of a lot in each stage, by turns from nursery to nursery, and some of what may not."""
    turn = len(stand.folder.name)
    for stage, lines in STEPS.items():
        lots = [each["lot"] for each in stand.json("lots").get("lots", ()) if each["counts"][stage]]
        for lot in lots[:1]:
            for line in lines[turn % 2 :: 2]:
                stand.run("log", *shlex.split(line.format(lot)))
        if lots and stage == tuple(STEPS)[turn % 4]:
            stand.run("log", "counted", lots[-1], "--count", "3", "--stage", stage, "--json")
            stand.run("undo", "--json")
    for line in (*REFUSED, f"mat --bin {bins[0]} --value 74"):
        stand.run("log", *shlex.split(line))
    stand.run("order", "77", "--form", "dormant", "--count", "2", "--ship-by", str(stand.now.date()))
    stand.run("order", "--ship", "41")


def _pages(stand: Stand) -> None:
    """The bench page as a phone that was let in sees it, and the first forms of it posted."""
    from almanac.web.app import create_app
    from almanac.web.keys import load_keys

    now = stand.now
    client = create_app(stand.folder, lambda: now, ["localhost"]).test_client()
    keys = load_keys(stand.folder)
    client.get(f"/k/{keys.write}")

    def answered(title: str, answer: Any) -> str:
        text = str(answer.get_data(as_text=True))
        stand.keep(title, f"{answer.status_code} {answer.headers.get('Location', '')}\n{text}\n")
        return text

    lots = [each["lot"] for each in stand.json("lots").get("lots", ())]
    for path in ("/week", "/lots", "/sale", "/log", *(f"/lot/{lot}" for lot in lots[:6]), "/lot/99z"):
        answered(f"GET {path}", client.get(path))
    answered("GET feed", client.get(f"/f/{keys.read}/everything.ics"))
    page = answered("GET /", client.get("/"))
    for number, form in enumerate(
        re.findall(r'<form method="post" action="(/\w+)"[^>]*>(.*?)</form>', page, re.DOTALL)[:6]
    ):
        fields = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', form[1]))
        button = re.search(r'<button[^>]*name="([^"]+)" value="([^"]*)"', form[1])
        fields |= {button[1]: button[2]} if button else {}
        answer = client.post(form[0], data=fields, headers={"Origin": "http://localhost"})
        answered(f"POST {number}", answer)
        if answer.status_code == 303:
            answered(f"POST {number} then", client.get(answer.headers["Location"]))


def _once(folder: Path) -> Sections:
    """What belongs to no nursery: a new one, the events, the rules."""
    folder.mkdir(parents=True, exist_ok=True)
    stand = Stand(folder, datetime(2026, 3, 3, 12, tzinfo=UTC))
    stand.run("log", "--list", nursery=False)
    stand.run("log", "--list", "--json", nursery=False)
    for name, more in (
        ("one", ("--town", "Ames, Iowa", "--units", "us")),
        ("two", ("--town", "Angers", "--last-frost", "04-17", "--first-frost", "10-18", "--bins", "A,B")),
        (
            "three",
            (
                "--latitude",
                "-30",
                "--longitude",
                "20",
                "--timezone",
                "Africa/Johannesburg",
                "--last-frost",
                "never",
                "--first-frost",
                "never",
            ),
        ),
        (
            "four",
            (
                "--town",
                "Paris",
            ),
        ),
    ):
        new = folder / name
        stand.run("new", str(new), *more, nursery=False)
        if (new / "nursery.toml").is_file():
            stand.keep(f"file {name}", _UUID.sub("ID", (new / "nursery.toml").read_text(encoding="utf-8")))
            for command in (("today",), ("site", "--json"), ("season",)):
                stand.run("--nursery", str(new), *command, nursery=False)
    stand.said = {title: _UUID.sub("ID", text) for title, text in stand.said.items()}
    shutil.copytree(EXAMPLES / "quince-lane", folder / "nursery")
    stand.folder = folder / "nursery"
    rules = stand.json("rules")
    stand.run("rules")
    stand.run("rules", "check")
    for rule in rules.get("tasks", ()):
        stand.run("rules", "show", rule["id"])
        stand.run("rules", "show", rule["id"], "--json")
    for name in ("fig", "sealed_bag", "fungus_gnats", "bleach", "potting"):
        stand.run("rules", "show", name, "--json")
    return stand.said


def _example(name: str, folder: Path, until: str = "") -> Path:
    """A copy of an example, its logbook up to a day where one is given."""
    shutil.copytree(EXAMPLES / name, folder / name, ignore=shutil.ignore_patterns("calendar", "*.md"))
    if until:
        logbook = folder / name / "logbook.csv"
        head, *rows = logbook.read_text(encoding="utf-8").splitlines()
        logbook.write_text(
            "\n".join([head, *(row for row in rows if row.split(",")[1] <= until)]) + "\n", encoding="utf-8"
        )
    return folder / name


def _generated(kind: Kind, until: date, folder: Path) -> Path:
    return write_generated(folder / kind.name, kind, until)


def scenes() -> Iterator[Scene]:
    """All of them, each nursery's together."""
    yield Scene("once", _once, quick=True)
    for name, days in EXAMPLE_DAYS.items():
        for day in days:
            yield Scene(
                f"{name}/{day}", partial(_on_a_day, partial(_example, name), day, day == days[1]), day == days[1]
            )
        yield Scene(
            f"{name}/logged",
            partial(_logged_to, partial(_example, name, until=days[1]), days[1]),
            name == "quince-lane",
        )
    for at, kind in enumerate(KINDS):
        middle = shortest_day(kind)
        for number, days_on in enumerate((12, 45 + at, 90 + 3 * at, 180 + 11 * at)):
            day = str(middle + timedelta(days=days_on))
            made = partial(_generated, kind, LATER.date() - timedelta(days=2))
            yield Scene(f"{kind.name}/{day}", partial(_on_a_day, made, day, number == 1), number == 1)
        start = middle + timedelta(days=60 + 7 * at)
        yield Scene(f"{kind.name}/logged", partial(_logged_to, partial(_generated, kind, start), str(start)))


def played(scene: Scene) -> Sections:
    """A scene's sections. The keys a run makes up are the same each time."""
    draw = random.Random(1)  # it stands in for the real one on purpose
    module: Any = secrets
    kept = (module.choice, module.token_urlsafe)
    module.choice = draw.choice
    module.token_urlsafe = lambda _size=24: "".join(draw.choices("abcdefghijkmnpqr", k=32))
    _remember_looks()
    try:
        with tempfile.TemporaryDirectory() as folder:
            return scene.play(Path(folder) / "n")
    finally:
        module.choice, module.token_urlsafe = kept
