"""The two keys of a nursery: one reads the calendar, one may log. In a file that only its owner can read.

The names of published files follow from the first; those of before it was renewed are remembered, to be removed.

Instead of names of their own in a file: they are the same from any machine that has the nursery, and one renewal takes
key and names away. Each name is a keyed hash of its own, so who has the list for buyers learns no feed's. A file under
a name remembered can only be ours, and is removed.
"""

from __future__ import annotations

import hashlib
import hmac
import os
import secrets
import tomllib
from functools import lru_cache
from pathlib import Path
from typing import Literal

from almanac.disk import write_whole
from almanac.faults import Fact, Refusal
from almanac.nursery.load import lock
from almanac.plain import dataclass

FILE = "phone-keys.toml"
Which = Literal["read", "write"]
_BYTES = 24  # 192 bits
_REMEMBERED = 50  # earlier names
_HEAD = """\
# Whoever has `read` can read this nursery's calendar, whoever has `write` can log in it: give neither away.
# New ones, after which the old open nothing: stickdate keys renew
"""


@dataclass(frozen=True, kw_only=True)
class Keys:
    """The two keys. They are compared in constant time and never printed but by the command that starts the server.

    `before` are the seeds of the names that files were published under with earlier keys, the last one last.
    """

    read: str
    write: str
    before: tuple[str, ...] = ()

    def reads(self, key: str) -> bool:
        return _same(key, self.read)

    def writes(self, key: str) -> bool:
        return _same(key, self.write)

    @property
    def phone(self) -> str:
        """What a phone keeps once it was let in: follows from the write key and does not tell it."""
        return hmac.new(self.write.encode(), b"a phone let in", hashlib.sha256).hexdigest()

    @property
    def cookie(self) -> str:
        """The name it is kept under: one for each nursery, as browsers do not tell the ports of a machine apart."""
        return f"stickdate_{hmac.new(self.write.encode(), b'name of the cookie', hashlib.sha256).hexdigest()[:12]}"

    def is_phone(self, kept: str) -> bool:
        return _same(kept, self.phone)

    @property
    def published(self) -> str:
        """The seed of the names of published files: follows from the read key and does not tell it."""
        return hmac.new(self.read.encode(), b"names of published files", hashlib.sha256).hexdigest()


def _same(one: str, other: str) -> bool:
    return hmac.compare_digest(one.encode("utf-8", "surrogatepass"), other.encode())


def load_keys(folder: Path) -> Keys:
    """The keys of a nursery; made where there are none.

    Raises:
        Refusal: the file says something else than two keys
    """
    path = folder / FILE
    try:
        stat = os.stat(path)
    except FileNotFoundError:
        return _first(folder)
    if os.name == "posix" and stat.st_mode & 0o077:
        path.chmod(0o600)
    return _read(path, (stat.st_ino, stat.st_mtime_ns, stat.st_size))


@lru_cache(maxsize=8)
def _read(path: Path, mark: tuple[int, int, int]) -> Keys:
    """The keys in a file, read once until it is another: they are asked for at every request."""
    try:
        written = tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError):
        written = {}
    read, write = written.get("read"), written.get("write")
    if not (isinstance(read, str) and isinstance(write, str) and min(len(read), len(write)) >= 32 and read != write):
        raise Refusal(Fact("no_keys", file=FILE))
    before = written.get("before", [])
    known = isinstance(before, list) and all(isinstance(seed, str) and len(seed) >= 32 for seed in before)
    return Keys(read=read, write=write, before=tuple(before) if known else ())


def _first(folder: Path) -> Keys:
    """Make the first keys; of several that start at once, one."""
    with lock(folder):
        return load_keys(folder) if (folder / FILE).exists() else _renewed(folder, None)


def renew(folder: Path, which: Which | None = None) -> Keys:
    """Make new keys, both or one of them; the old open nothing from now on."""
    with lock(folder):
        return _renewed(folder, which)


def _renewed(folder: Path, which: Which | None) -> Keys:
    old = _old(folder, must=which is not None)
    read, write = secrets.token_urlsafe(_BYTES), secrets.token_urlsafe(_BYTES)
    before = old.before if old else ()
    if old and which == "write":
        read = old.read
    elif old:
        before = (*before, old.published)[-_REMEMBERED:]
        write = old.write if which == "read" else write
    fresh = Keys(read=read, write=write, before=before)
    _write(folder, fresh)
    return fresh


def _old(folder: Path, *, must: bool) -> Keys | None:
    """The keys there are; None where there are none, or none that can be read and none are needed."""
    if not (folder / FILE).exists():
        return None  # and to make the first ones here would wait for the lock that is held
    try:
        return load_keys(folder)
    except Refusal:
        if must:
            raise
        return None


def _write(folder: Path, keys: Keys) -> None:
    seeds = "".join(f'  "{seed}",\n' for seed in keys.before)
    before = f"# Names of published files that the next `stickdate publish` removes:\nbefore = [\n{seeds}]\n"
    text = f'{_HEAD}read = "{keys.read}"\nwrite = "{keys.write}"\n{before if seeds else ""}'
    write_whole(folder / FILE, text.encode(), 0o600)
