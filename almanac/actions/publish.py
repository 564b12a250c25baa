"""Put the feeds, and if asked the list for buyers, into a folder that any web host or synced drive serves.

Their names cannot be guessed and stay the same from run to run; there is no page that lists them.
"""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

from filelock import FileLock

from almanac.actions.forsale import for_sale, list_of
from almanac.actions.look import CALENDAR, NAMES
from almanac.actions.standing import INPUTS, Standing, standing
from almanac.disk import clear_leftovers, write_whole
from almanac.faults import Fact, Fault, Refusal
from almanac.feed.publish import without_links
from almanac.pictures.sale_list import COLUMNS, MARK
from almanac.plain import dataclass

LISTS = ("for-sale.html", "for-sale.csv")
FILES = (*(f"{name}.ics" for name in NAMES), *LISTS)
_MARKS = {"ics": b"PRODID:-//stickdate//", "html": MARK.encode(), "csv": ",".join(COLUMNS).encode()}


@dataclass(frozen=True, kw_only=True)
class Folder:
    """What a run left in the folder: names by file, those written and removed, and why feeds stand still if they do."""

    names: Mapping[str, str]
    written: tuple[str, ...]
    removed: tuple[str, ...]
    faults: tuple[Fault | Fact, ...]
    old_list: bool


def published_name(seed: str, file: str) -> str:
    """The name a file is published under; that of one tells nothing of another's."""
    stem, _, ending = file.rpartition(".")
    return f"{stem}-{hmac.new(seed.encode(), stem.encode(), hashlib.sha256).hexdigest()[:48]}.{ending}"


def publishing(folder: Path) -> FileLock:
    """One publishes at a time, so that an older feed never replaces a newer; logging goes on meanwhile."""
    return FileLock(str(folder / ".stickdate.publish.lock"), timeout=120, fallback_to_soft=False)


def current(folder: Path, now: datetime, as_of: date | None, handed: Mapping[str, bytes] | None = None) -> Standing:
    """The feeds to publish; `handed` are those published last.

    Raises:
        Refusal, MachineTrouble: something else than the grower's files is at fault, so that nothing is to be published
    """
    found = standing(folder, now, as_of, handed or {})
    if found.stopped is not None:
        raise found.stopped
    return replace(found, feeds={name: without_links(body) for name, body in found.feeds.items()})


def check_folder(folder: Path, target: Path) -> None:
    """Refuse a folder that must not be open to others, or cannot be the one meant."""
    if not (folder / INPUTS[0]).is_file():
        raise Refusal(Fact("no_nursery", folder=folder, settings=INPUTS[0]))
    home, there = folder.resolve(), target.resolve()
    if home == there or home.is_relative_to(there):
        raise Refusal(Fact("target_holds_nursery", folder=target))
    if there == home / CALENDAR:
        raise Refusal(Fact("target_is_calendar", folder=target))
    if target.exists() and not target.is_dir():
        raise Refusal(Fact("folder_is_file", folder=target))
    if not there.parent.is_dir():
        raise Refusal(Fact("no_parent", folder=target.parent))


def publish_folder(
    folder: Path,
    target: Path,
    seed: str,
    before: Sequence[str],
    now: datetime,
    as_of: date | None = None,
    *,
    with_list: bool = False,
) -> Folder:
    """Publish a nursery into a folder. What did not change is left untouched.

    Args:
        target: the folder to publish into; made if only its last part is missing
        seed: from which the names follow
        before: earlier seeds; what stands there under their names is removed
        with_list: the list for buyers, too
    Raises:
        Refusal: nothing can be published; nothing was written
    """
    check_folder(folder, target)
    with publishing(folder):
        found = current(folder, now, as_of, _already(target, seed))
        files = {f"{name}.ics": body for name, body in found.feeds.items()}
        if with_list and found.done is not None:
            offered = for_sale(folder, now, as_of)
            files |= {file: list_of(offered, file.rpartition(".")[2]).encode("utf-8") for file in LISTS}
        if not target.is_dir():
            target.mkdir()
            target.chmod(0o755)  # a web server must get in
        names = {file: published_name(seed, file) for file in files}
        clear_leftovers(target, names.values())
        written = [names[file] for file, body in files.items() if _put(target / names[file], body)]
        removed = [path.name for path in _outdated(target, before)]
        lists = (target / published_name(seed, file) for file in LISTS)
        old_list = not with_list and any(path.exists() for path in lists)
    return Folder(names=names, written=tuple(written), removed=tuple(removed), faults=found.faults, old_list=old_list)


def _already(target: Path, seed: str) -> dict[str, bytes]:
    """The feeds an earlier run published there."""
    paths = {name: target / published_name(seed, f"{name}.ics") for name in NAMES}
    return {name: path.read_bytes() for name, path in paths.items() if path.is_file()}


def _put(path: Path, body: bytes) -> bool:
    if path.is_file() and path.read_bytes() == body:
        return False
    write_whole(path, body)
    return True


def _outdated(target: Path, before: Sequence[str]) -> list[Path]:
    """Remove what was published under earlier names: nobody else can have made those up, and it looks like ours."""
    removed = []
    for seed in before:
        for file in FILES:
            path = target / published_name(seed, file)
            if path.is_file() and _MARKS[file.rpartition(".")[2]] in path.read_bytes():
                path.unlink()
                removed.append(path)
    return removed
