"""The files that rules are read from, with their bytes: those that ship, then a nursery's own."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from pathlib import Path

from almanac.plain import dataclass
from almanac.rulebook.shipped import shipped


def own_files(own: Path) -> dict[str, Path]:
    """The nursery's own rule files by the names they are shown by."""
    return {f"{own.name}/{path.relative_to(own).as_posix()}": path for path in sorted(own.rglob("*.toml"))}


@dataclass(frozen=True, kw_only=True)
class RuleFile:
    """A rule file: where it stands among the rules, the name to show, and its bytes where they could be read."""

    path: Path
    relative: Path
    shown: str
    ships: bool = False
    data: bytes | None

    @property
    def read(self) -> tuple[str, bytes]:
        """What goes into what is made of it."""
        return "\0".join((str(self.ships), self.relative.as_posix(), self.shown)), self.data or b""


def rule_files(
    own: Path | None, extra: Path | None, left_out: Collection[Path], folders: Collection[str]
) -> Iterator[RuleFile]:
    """Every rule file, the shipped ones first.

    Args:
        own: the nursery's own rules folder, if there is one
        extra: one more file, taken as if it stood there
        left_out: those of the nursery's own that are passed over
        folders: the names of the folders that rule files may stand in
    """
    root = shipped("rules")
    for path in sorted(root.rglob("*.toml")):
        relative = path.relative_to(root)
        shown = f"rules/{relative.as_posix()}"
        yield RuleFile(path=path, relative=relative, shown=shown, ships=True, data=_bytes_of(path))
    if own is not None:
        for shown, path in own_files(own).items():
            if path not in left_out:
                yield RuleFile(path=path, relative=path.relative_to(own), shown=shown, data=_bytes_of(path))
    if extra is not None:
        inside = extra.absolute().parent.name in folders
        relative = Path(extra.absolute().parent.name, extra.name) if inside else Path(extra.name)
        yield RuleFile(path=extra, relative=relative, shown=str(extra), data=_bytes_of(extra))


def _bytes_of(path: Path) -> bytes | None:
    try:
        return path.read_bytes()
    except OSError:
        return None  # told where it is read, which one that stands where none belongs is not
