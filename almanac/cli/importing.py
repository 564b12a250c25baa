"""`import`: rows that were typed elsewhere, in whatever way a spreadsheet saves them."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from almanac.cli.common import Shell, notices, shared_options, show
from almanac.cli.waiting import enough

if TYPE_CHECKING:
    from almanac.nursery.foreign import DateOrder

_Said = Literal["day-first", "month-first"]
_ORDERS: dict[_Said, DateOrder] = {"day-first": "dmy", "month-first": "mdy"}


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--dates", type=click.Choice(list(_ORDERS)), help="How 3/4/2026 is meant, where the file does not tell.")
@click.option("--yes", is_flag=True, help="Write without asking.")
@shared_options
def import_(shell: Shell, file: Path, dates: _Said | None, yes: bool) -> None:
    """Take in rows that were typed elsewhere, or mend a re-saved file.

    FILE is a table as a spreadsheet saves it, with any separator, encoding and
    order of dates: rows for the logbook, varieties or orders, by its first
    line. What was understood is shown before anything is written. Named after
    a file of the nursery itself, such as logbook.csv, that file is written as
    it should be.

    Example: stickdate import typed-on-the-bench.csv --dates day-first
    """
    from almanac.actions.importing import import_file, propose
    from almanac.faults import Refusal
    from almanac.terminal.imported import imported_json, imported_text, proposed_text, question_text

    asking = sys.stdin.isatty() and not shell.as_json
    wished = _ORDERS[dates] if dates else None
    try:
        proposal = propose(shell.folder, file, shell.now, wished)
    except Refusal as refusal:
        if not asking or refusal.fact.kind != "dates_in_doubt":
            raise
        enough()
        said: _Said = click.prompt(question_text(refusal.fact), type=click.Choice(list(_ORDERS)))
        wished = _ORDERS[said]
        proposal = propose(shell.folder, file, shell.now, wished)
    if not shell.as_json:
        show(shell, proposed_text(proposal, file.name), {})
    enough()
    wanted = yes or (asking and bool(proposal.fresh) and click.confirm("Write them?"))
    done = import_file(shell.folder, file, shell.now, wished) if wanted and proposal.fresh else None
    if done and done.stale:
        from almanac.faults import Fact

        notices([Fact("not_refreshed", why=done.stale)])
    logged = list(done.names) if done else []
    show(shell, imported_text(done, proposal), imported_json(done, proposal), logged)
