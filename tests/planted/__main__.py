"""Plant faults in the code and see whether the tests find them.

    python -m tests.planted --number 150              in plan, forecast, nursery, rulebook, site and feed
    python -m tests.planted --since REVISION          only in the lines changed since then
    python -m tests.planted --tests tests/unit        watch and run these tests alone

Each fault is planted in a copy of the tree. The tests that run its line are run, the quickest first, for at most 60 s
of processor time; then the commands, pages and feeds of the examples and of generated nurseries are compared with those
of the whole tree (`observe`). A fault that changes none of them cannot be seen by a grower and does not count; nor does
a kill by a test that holds our own earlier output (SNAPSHOTS). Not part of CI: some minutes for ten faults.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import re
import resource
import shutil
import subprocess
import sys
import tempfile
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from queue import Queue

import coverage

from tests.planted.faults import Fault, possible

ROOT = Path.cwd()
HERE = Path(__file__).parents[2]  # so that an older tree, without this folder, can be tried as well
FOLDERS = ("plan", "forecast", "nursery", "rulebook", "site", "feed")
SNAPSHOTS = re.compile(r"test_unchanged_|test_kept_feeds\.py|test_lot_year\.py|tests/planted/")
SECONDS = 60  # of processor time a fault
_FIRST = 12  # tests, so that most faults need no more


@dataclass
class Watched:
    """What was found without a fault: tests and scenes by the line they run, and the seconds of each."""

    folder: Path
    runs: dict[str, dict[str, dict[int, list[str]]]] = field(default_factory=dict)
    seconds: dict[str, float] = field(default_factory=dict)

    def of(self, what: str, fault: Fault) -> list[str]:
        """The tests (or scenes) that run a fault's line; a line outside functions runs with all of its file."""
        lines = self.runs[what].get(fault.path, {})
        named = lines.get(fault.line, []) if fault.in_function else [name for each in lines.values() for name in each]
        return sorted(set(named), key=lambda name: (self.seconds.get(name, 1.0), name))


def git(*arguments: str) -> str:
    return subprocess.run(["git", *arguments], cwd=ROOT, capture_output=True, text=True, check=True).stdout


def copied(folder: Path) -> Path:
    """The tree as it stands, what git ignores left out."""
    for name in git("ls-files", "--cached", "--others", "--exclude-standard").splitlines():
        if (ROOT / name).is_file():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(ROOT / name, folder / name)
    return folder


def run(
    tree: Path, *arguments: str, seconds: int = 0, more: Mapping[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    """Run Python in a tree, for at most so many seconds of processor time."""
    environment = {**os.environ, "PYTHONPATH": f"{tree}:{HERE}", "PYTHONDONTWRITEBYTECODE": "1", **(more or {})}

    def limited() -> None:
        if seconds:
            resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))

    return subprocess.run(
        [sys.executable, *arguments], cwd=tree, env=environment, capture_output=True, text=True, preexec_fn=limited
    )


def lines_of(files: Iterable[Path], tree: Path) -> dict[str, dict[int, list[str]]]:
    """For each source file and line, the names of what ran it."""
    found: dict[str, dict[int, list[str]]] = defaultdict(lambda: defaultdict(list))
    for file in files:
        data = coverage.CoverageData(basename=str(file))
        data.read()
        for source in data.measured_files():
            name = os.path.relpath(source, tree)
            for line, names in data.contexts_by_lineno(source).items():
                found[name][line] += [each for each in names if each]
    return found


def watched(folder: Path, tests: list[str], scenes: list[str], workers: int) -> Watched:
    """Run all tests and scenes once, without a fault; a folder that holds this already is read."""
    made = Watched(folder)
    tree = folder / "tree"
    if not tree.is_dir():
        copied(tree)
        told = {"STICKDATE_WATCHED": str(folder)}
        spread = ("-n", str(workers), "--dist", "worksteal") if workers > 1 else ("-n", "0")
        done = run(tree, "-m", "pytest", "-q", "-p", "tests.planted.watch", *spread, *tests, more=told)
        print(done.stdout.strip().splitlines()[-1], flush=True)
        run(tree, "-m", "tests.planted.observe", str(folder / "scenes"), *scenes, "--lines-run", str(folder))
    for file in folder.glob("seconds.*.json"):
        made.seconds |= json.loads(file.read_text(encoding="utf-8"))
    made.runs["tests"] = lines_of(folder.glob("lines.*"), tree)
    made.runs["scenes"] = lines_of(folder.glob("seen"), tree)
    return made


def drawn(number: int, seed: str, since: str) -> list[Fault]:
    """So many faults, none on the line of another, the same for the same seed."""
    changed = _changed(since) if since else None
    every = [
        fault
        for room in FOLDERS
        for file in sorted((ROOT / "almanac" / room).rglob("*.py"))
        for fault in possible(str(file.relative_to(ROOT)), file.read_text(encoding="utf-8"))
        if changed is None or fault.line in changed.get(fault.path, ())
    ]
    draw = random.Random(seed)
    draw.shuffle(every)
    return list({(fault.path, fault.line): fault for fault in reversed(every)}.values())[::-1][:number]


def _changed(since: str) -> dict[str, set[int]]:
    lines: dict[str, set[int]] = defaultdict(set)
    name = ""
    for line in git("diff", "-U0", "-M", since, "--", "almanac").splitlines():
        if line.startswith("+++ "):
            name = line.removeprefix("+++ b/")
        elif match := re.match(r"@@ -\S+ \+(\d+)(?:,(\d+))? @@", line):
            first, many = int(match[1]), int(match[2] or 1)
            lines[name] |= set(range(first, first + many))
    return lines


@dataclass(frozen=True)
class Verdict:
    """What became of a fault. `by` names the test that found it, `seen` a scene that shows it."""

    fault: Fault
    by: str = ""
    seen: str = ""

    def __str__(self) -> str:
        state = ("killed" if self.by else "SURVIVED") if self.seen else ("killed, not seen" if self.by else "not seen")
        return f"{state:17}{self.fault}  {self.by or self.seen}"


def judged(fault: Fault, whole: Watched, tree: Path) -> Verdict:
    with _planted(fault, tree):
        seen = _seen_in(fault, whole, tree)
    return Verdict(fault, _found_by(fault, whole, tree), seen)


@contextmanager
def _planted(fault: Fault, tree: Path) -> Iterator[None]:
    file = tree / fault.path
    text = file.read_text(encoding="utf-8")
    file.write_text(fault.planted(text), encoding="utf-8")
    try:
        yield
    finally:
        file.write_text(text, encoding="utf-8")


def _found_by(fault: Fault, whole: Watched, tree: Path) -> str:
    """The test that finds it; those chosen would take two thirds of the time without a fault."""
    chosen: list[str] = []
    total = 0.0
    for name in whole.of("tests", fault):
        total += whole.seconds.get(name, SECONDS)
        if total < SECONDS * 2 / 3 and not SNAPSHOTS.search(name):
            chosen.append(name)
    for part in (chosen[:_FIRST], chosen[_FIRST:]):
        while part:
            with _planted(fault, tree):
                failed = _first_failure(part, tree)
            if not failed:
                break
            if failed not in part or not _first_failure([failed], tree):
                return failed
            part = part[part.index(failed) + 1 :]  # it fails on a busy machine all the same, so it found nothing
    return ""


def _first_failure(tests: list[str], tree: Path) -> str:
    asked = ("-n", "0", "-x", "-q", "-p", "no:cacheprovider", "--tb=no", *tests)
    done = run(tree, "-m", "pytest", *asked, seconds=SECONDS)
    if not done.returncode:
        return ""
    told = re.findall(r"^(?:FAILED|ERROR) (.*)", done.stdout, re.MULTILINE)
    named = [name for name in tests if any(f"{line} - ".startswith(f"{name} - ") for line in told)]
    return named[0] if named else f"took too long, or did not start ({done.returncode})"


def _seen_in(fault: Fault, whole: Watched, tree: Path) -> str:
    scenes = whole.of("scenes", fault)
    if not scenes:
        return ""
    at = str(whole.folder / "scenes")
    with tempfile.TemporaryDirectory() as folder:
        done = run(
            tree, "-m", "tests.planted.observe", folder, "--than", at, "--first", "--scenes", *scenes, seconds=180
        )
    shown = re.search(r"^--- (.*)", done.stdout, re.MULTILINE)
    return "" if done.returncode == 0 else shown[1] if shown else "no command starts, or none ends"


def verdicts(faults: list[Fault], whole: Watched, parallel: int) -> Iterator[Verdict]:
    """Judge them, each tree by one at a time."""
    with tempfile.TemporaryDirectory() as folder:
        trees: Queue[Path] = Queue()
        for number in range(parallel):
            trees.put(copied(Path(folder) / str(number)))

        def one(fault: Fault) -> Verdict:
            tree = trees.get()
            try:
                return judged(fault, whole, tree)
            finally:
                trees.put(tree)

        with ThreadPoolExecutor(parallel) as pool:
            yield from pool.map(one, faults)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--number", type=int, default=150)
    parser.add_argument("--seed", default="", help="[default: the commit]")
    parser.add_argument("--since", default="", help="only lines changed since this revision")
    parser.add_argument("--tests", nargs="*", default=["tests"])
    parser.add_argument("--quick", action="store_true", help="compare one day of each nursery only")
    parser.add_argument("--parallel", type=int, choices=(1, 2), default=1)
    parser.add_argument("--watched", type=Path, help="keep there what runs without a fault, for the next time")
    asked = parser.parse_args()
    seed = asked.seed or git("rev-parse", "HEAD").strip()
    with tempfile.TemporaryDirectory() as scratch:
        whole = watched(asked.watched or Path(scratch), asked.tests, ["--quick"] * asked.quick, asked.parallel)
        faults = drawn(asked.number, seed, asked.since)
        print(f"{len(faults)} faults, seed {seed}", flush=True)
        found = []
        for verdict in verdicts(faults, whole, asked.parallel):
            found.append(verdict)
            print(verdict, flush=True)
    seen = [verdict for verdict in found if verdict.seen]
    killed = sum(bool(verdict.by) for verdict in seen)
    share = f", {killed / len(seen):.0%}" if seen else ""
    print(f"{len(found)} planted, {len(seen)} can be seen, of these {killed} killed{share}")


if __name__ == "__main__":
    main()
