"""What every command shares: the options that may stand before or after it, the clock, and how JSON is printed."""

from __future__ import annotations

import json
import os
import re
import sys
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

import click

from almanac.cli.waiting import enough
from almanac.faults import Fact, Fault, Miswritten, Refusal
from almanac.plain import dataclass
from almanac.terminal.encoded import encoded
from almanac.terminal.table import paragraph
from almanac.terminal.weight import DRAWN, Weigh, marked, plain

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

    from almanac.actions.look import Reading
    from almanac.nursery.nursery import Nursery

SETTINGS = "nursery.toml"
_STEERING = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")


@dataclass(frozen=True, kw_only=True)
class Shell:
    """The options of a command and the moment it runs: the one place where the clock is read."""

    nursery: str | None
    as_of: date | None
    as_json: bool
    now: datetime

    @property
    def folder(self) -> Path:
        """The nursery's folder: as asked, by STICKDATE_NURSERY, or the nearest one above where one stands."""
        found = folder_of(self.nursery)
        if found is None:
            raise Refusal(Fact("no_nursery_here", settings=SETTINGS))
        return found


def folder_of(named: str | None) -> Path | None:
    """The nursery's folder: as asked, by STICKDATE_NURSERY, or the nearest one above where one stands; else None."""
    named = named or os.environ.get("STICKDATE_NURSERY")
    if named:
        return Path(named)
    here = Path.cwd()
    return next((folder for folder in (here, *here.parents) if (folder / SETTINGS).is_file()), None)


def folders(ctx: click.Context, param: click.Parameter, begun: str) -> list[CompletionItem]:
    """That a folder is meant, for a shell that completes."""
    from click.shell_completion import CompletionItem

    return [CompletionItem(begun, type="dir")]


def shared_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command --nursery, --as-of and --json, and hand them on as one `Shell`."""

    @click.option("--nursery", metavar="FOLDER", shell_complete=folders, help="The nursery's folder.")
    @click.option("--as-of", metavar="DATE", help="Stand on another day than today.")
    @click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
    @click.pass_context
    @wraps(command)
    def with_shell(
        ctx: click.Context, /, *args: Any, nursery: str | None, as_of: str | None, as_json: bool, **options: Any
    ) -> Any:
        before = ctx.find_root().obj or {}
        shell = Shell(
            nursery=nursery or before.get("nursery"),
            as_of=day_option("--as-of", as_of or before.get("as_of")),
            as_json=as_json or before.get("as_json", False),
            now=datetime.now(UTC),
        )
        return command(shell, *args, **options)

    return with_shell


def day_option(name: str, text: str | None) -> date | None:
    """A date as an option has it."""
    if text is None:
        return None
    from almanac.nursery.logbook import read_day

    try:
        return read_day(text)
    except Miswritten as error:
        from almanac.words.faults import fact_text

        raise click.UsageError(f"{name} {fact_text(error.fact)}") from None


def loaded(shell: Shell) -> Nursery:
    """The nursery, what is worth telling of its files told."""
    from almanac.nursery.load import load_nursery

    nursery = load_nursery(shell.folder, shell.now, shell.as_of)
    notices(nursery.notices)
    return nursery


def planned(shell: Shell) -> Reading:
    """The nursery and its plan, likewise."""
    from almanac.actions.look import look

    seen = look(shell.folder, shell.now, shell.as_of)
    notices(seen.nursery.notices)
    return seen


def show(shell: Shell, text: str, data: dict[str, Any], logged: Sequence[str] = ()) -> None:
    """Print the text, or the object; signs that would steer a terminal are not handed on.

    Rows that are `logged` by now are so, whether or not it can be printed: then that is said, and the status is 0.
    """
    enough()
    if shell.as_json:
        shows_all = "utf" in (sys.stdout.encoding or "")
        text = json.dumps(data, indent=2, ensure_ascii=not shows_all, default=encoded)
    try:
        text = _STEERING.sub("?", text)
        click.echo(text.translate(DRAWN) if _weighs() and not shell.as_json else text, nl=shell.as_json)
    except OSError as error:
        if not logged:
            raise
        into_nowhere(sys.stdout)
        if not isinstance(error, BrokenPipeError):
            notices([Fact("not_shown", rows=tuple(logged), why=str(error.strerror).lower())])


def weigh() -> Weigh:
    """How what is due and late gets its weight: drawn on a terminal, unless NO_COLOR says no; else not at all."""
    return marked if _weighs() else plain


def _weighs() -> bool:
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def progress(what: str) -> Callable[[int, int], None]:
    """Tells on a terminal how many of several pages are made; elsewhere it tells nothing."""

    def told(done: int, of: int) -> None:
        enough()
        if of > 1 and sys.stderr.isatty():
            click.echo(f"\r{what} {done} of {of}" + ("\n" if done == of else ""), nl=False, err=True)

    return told


def into_nowhere(stream: Any) -> None:
    """Let go what cannot be printed, or Python would complain of it at the end."""
    with open(os.devnull, "wb") as nowhere:
        os.dup2(nowhere.fileno(), stream.fileno())


def notices(facts: Sequence[Fault | Fact]) -> None:
    """Things to tell that are not faults, on stderr, so that they never mix with what is piped."""
    enough()
    for fact in facts:
        from almanac.words.faults import told  # with what every other sentence needs; most commands have none to tell

        click.echo("\n".join(note_lines(told(fact), sys.stderr)), err=True)


def note_lines(text: str, stream: TextIO, kind: str = "note") -> list[str]:
    """A notice as one line, or on a terminal as lines that fit it."""
    return fitting(f"{kind}: {text}", stream)


def fitting(line: str, stream: TextIO) -> list[str]:
    """A line as it is, so that it can be searched for; on a terminal as lines that fit it."""
    return paragraph(line, hang=2) if stream.isatty() else [line]
