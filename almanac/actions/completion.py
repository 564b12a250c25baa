"""Have a shell read the script that completes: written beside its own, and named in what it reads at each start.

Only the one line is ever added to a file of the grower's; taking it away takes that line and nothing else.
"""

from __future__ import annotations

import os
from pathlib import Path

from almanac.disk import write_whole

# A shell that has not loaded its own completion has no way to be taught.
_BEFORE = {"zsh": "(( $+functions[compdef] )) || { autoload -Uz compinit && compinit; }\n"}


def installed(shell: str, script: str) -> list[Path]:
    """Write the script, and the line that reads it where the shell does not by itself.

    Raises:
        OSError: a file cannot be written
    """
    path, read_by = _places(shell)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(_BEFORE.get(shell, "") + script, encoding="utf-8")
    if read_by is None:
        return [path]
    text = _text(read_by)
    if _line(path) not in text:
        _write(read_by, text + ("\n" if text and not text.endswith("\n") else "") + _line(path))
    return [path, read_by]


def removed(shell: str) -> list[Path]:
    """Take both away again; what was there, in the order it was written."""
    path, read_by = _places(shell)
    gone = []
    if path.exists():
        path.unlink()
        gone.append(path)
    if read_by is not None and _line(path) in (text := _text(read_by)):
        _write(read_by, "".join(text.split(_line(path))))
        gone.append(read_by)
    return gone


def _places(shell: str) -> tuple[Path, Path | None]:
    """Where the script goes, and which file of the shell's must name it."""
    home = Path.home()
    if shell == "fish":
        return Path(os.environ.get("XDG_CONFIG_HOME") or home / ".config", "fish/completions/stickdate.fish"), None
    data = Path(os.environ.get("XDG_DATA_HOME") or home / ".local/share", "stickdate", f"completion.{shell}")
    return data, (Path(os.environ.get("ZDOTDIR") or home, ".zshrc") if shell == "zsh" else home / ".bashrc")


def _line(script: Path) -> str:
    return f"[ -r '{script}' ] && . '{script}'  # stickdate completion\n"


def _text(path: Path) -> str:
    return path.read_bytes().decode("utf-8", "surrogateescape") if path.exists() else ""


def _write(path: Path, text: str) -> None:
    mode = path.stat().st_mode & 0o777 if path.exists() else 0o644
    write_whole(path.resolve(), text.encode("utf-8", "surrogateescape"), mode)
