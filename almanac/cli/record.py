"""`log` and `undo`: write to the logbook, and say what moves."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

import click

from almanac.cli.common import Shell, notices, shared_options, show
from almanac.faults import Fact

if TYPE_CHECKING:
    from almanac.actions.writing import Recorded


@click.command()
@click.argument("what", required=False)
@click.argument("about", nargs=-1, metavar="[LOT]...")
@click.option("--list", "listing", is_flag=True, help="List every event and what it takes.")
@click.option("--on", default="today", show_default=True, metavar="DATE", help="2026-02-24, today, yesterday or -3d.")
@click.option("--count", type=click.IntRange(min=0), metavar="N", help="How many; left out, all of them.")
@click.option("--bin", default="", metavar="BIN", help="A bin: all its lots, or where the lot goes.")
@click.option("--force", is_flag=True, help="Log it though a bin is full, or it is promised to an order.")
@click.option("--stage", default="", metavar="STAGE", help="store, rooting, pot or outside, where it is in doubt.")
@click.option("--variety", default="", metavar="NUMBER", help="The variety of a new lot.")
@click.option("--value", default="", metavar="VALUE", help="What the event asks for, such as '74 F' or rot.")
@click.option("--method", default="", metavar="METHOD", help="With stuck: the way of rooting, as covered_tray.")
@click.option("--refers", default="", metavar="LOT", help="The other lot; with sold, the order it goes to.")
@click.option("--note", default="", metavar="TEXT", help="Anything worth keeping.")
@click.option("--all", "everything", is_flag=True, help="With looked: every bin, and every lot elsewhere.")
@click.option("--except", "but", multiple=True, metavar="LOT", help="All of the bin but this lot; may be given again.")
@shared_options
def log(shell: Shell, what: str | None, listing: bool, value: str, method: str, **given: Any) -> None:
    """Log what you did or saw; says what moves.

    Several lots may be named at once. `stuck 7` means the soundest wood of
    number 7 of this winter, several lots where one is too few; it says which.
    Older wood is stuck by its lot. Without --bin it goes to the bin with room
    whose mat suits the crop best; --bin none says that it stands in no bin.
    With --bin of a tray or a bed, or with --method, it roots as they do.
    Went through bin A, all well but 7b? `looked --bin A --except 7b`, then say
    what 7b has.

    Examples: stickdate log leaves 7a | stickdate log stuck 7 --count 12
    --bin A | stickdate log looked --bin A --except 7b | stickdate log --list
    """
    from almanac.actions.record import record
    from almanac.actions.request import Request

    if listing:
        from almanac.terminal.events import events_json, events_text

        show(shell, events_text(), events_json())
        return
    if what is None:
        raise click.UsageError("say what to log, such as: stickdate log leaves 7a; all events: stickdate log --list")
    if method and (value or what.lower() not in ("stuck", "sealed")):
        raise click.UsageError("--method goes with stuck and no --value; leave one of them out")
    request = Request(what=what, value=value or method, **given)
    tell(shell, record(shell.folder, shell.now, request, shell.as_of))


@click.command()
@click.argument("row", required=False, default="")
@click.option("--yes", is_flag=True, help="Do not ask first, on a terminal.")
@shared_options
def undo(shell: Shell, row: str, yes: bool) -> None:
    """Undo the last thing logged, or one ROW by its id.

    Nothing is erased: a row is added that says which one no longer counts. To
    have that one count again, undo the row that was added. On a terminal a
    ROW that is not the last is shown first, with what was logged since.

    Examples: stickdate undo | stickdate undo r41
    """
    from almanac.actions.undo import undo as undo_row

    if row and not yes and not shell.as_json and sys.stdin.isatty() and sys.stdout.isatty() and not _sure(shell, row):
        show(shell, "Nothing was undone.\n", {})
        return
    tell(shell, undo_row(shell.folder, shell.now, row, shell.as_of))


def _sure(shell: Shell, row: str) -> bool:
    """Whether a row is to be undone that others of the same lots follow, which are shown; asked in a terminal."""
    from almanac.actions.undo import undoing
    from almanac.nursery.load import load_nursery
    from almanac.terminal.recorded import undoing_text

    nursery = load_nursery(shell.folder, shell.now, shell.as_of, whatever_rules=True)
    found = undoing(nursery, row)
    if found.resting or not found.later:
        return True  # what rests on it is what the refusal names
    show(shell, undoing_text(row, found, nursery), {})
    return click.confirm("Undo it?")


def tell(shell: Shell, recorded: Recorded) -> None:
    """Print what was logged and what moved by it."""
    from almanac.terminal.recorded import recorded_json, recorded_text

    if recorded.set_aside:
        notices([Fact("row_set_aside", text=recorded.set_aside)])
    if recorded.stale:
        notices([Fact("not_refreshed", why=recorded.stale)])
    notices([*recorded.mild, *recorded.frost])
    show(shell, recorded_text(recorded), recorded_json(recorded), [row.id for row in recorded.rows])
