"""`completion`: let the shell complete commands, options and the names of the nursery."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import click

from almanac.cli.common import Shell, shared_options, show

ShellName = Literal["bash", "zsh", "fish"]
_SHELLS: tuple[ShellName, ...] = ("bash", "zsh", "fish")


@click.command()
@click.argument("shell_name", metavar="[bash|zsh|fish]", type=click.Choice(_SHELLS), required=False)
@click.option("--print", "printing", is_flag=True, help="Print the script, and install nothing.")
@click.option("--remove", is_flag=True, help="Take it away again.")
@shared_options
def completion(shell: Shell, shell_name: ShellName | None, printing: bool, remove: bool) -> None:
    """Let your shell complete commands, lots, bins and entries.

    Writes a small script for the shell you use (or the one you name) and has
    it read by each new terminal. The Tab key then completes commands, options,
    events, lots, bins, entries, rules and crops.

    Example: stickdate completion
    """
    from almanac.actions.completion import installed, removed
    from almanac.terminal.completion import installed_text, removed_text

    name = shell_name or _own_shell()
    script = _script(name)
    if printing:
        show(shell, script, {"shell": name, "script": script})
    elif remove:
        gone = removed(name)
        show(shell, removed_text(gone), {"shell": name, "removed": [str(path) for path in gone]})
    else:
        written = installed(name, script)
        show(shell, installed_text(name, written), {"shell": name, "written": [str(path) for path in written]})


def _own_shell() -> ShellName:
    """The shell that is used, as its surroundings name it."""
    import os

    used = Path(os.environ.get("SHELL", "")).name
    found = next((name for name in _SHELLS if name == used), None)
    if found is None:
        raise click.UsageError("say for which shell: stickdate completion bash (or zsh, or fish)")
    return found


def _script(name: ShellName) -> str:
    from click.shell_completion import get_completion_class

    from almanac.cli.main import COMPLETING, cli

    kind = get_completion_class(name)
    assert kind is not None
    return kind(cli, {}, "stickdate", COMPLETING).source().strip() + "\n"
