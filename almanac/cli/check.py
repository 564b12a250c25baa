"""`check`: say what is wrong in the nursery's files, and mend what the program can."""

from __future__ import annotations

import sys
from dataclasses import replace

import click

from almanac.cli.common import Shell, note_lines, shared_options, show
from almanac.cli.waiting import enough


@click.command()
@click.option("--mend", is_flag=True, help="Make files and their copies agree: nothing logged stays lost.")
@shared_options
def check(shell: Shell, mend: bool) -> None:
    """Say what is wrong in the nursery's files.

    Every fault is one line, with the file, the line or key, and the remedy.
    What is older than the program is said apart from that.
    --mend puts back rows that only a copy still holds, brings what is older up
    to the program, and keeps in the folder `replaced` what it replaced.

    Example: stickdate check
    """
    from almanac.actions.check import check_nursery
    from almanac.actions.mend import Mended, examine
    from almanac.actions.mend import mend as mend_files
    from almanac.actions.outdated import outdated, renewed
    from almanac.faults import InputFaults
    from almanac.terminal.checked import counted_text, mended_text, names_back, to_mend_text
    from almanac.words.faults import fault_lines, told

    mended = mend_files(shell.folder, shell.now) if mend else Mended()
    done = mended_text(mended)
    apart = examine(shell.folder, shell.now)
    try:
        found = check_nursery(shell.folder, shell.now, shell.as_of)
    except InputFaults:
        enough()
        for line in (*done, *to_mend_text(apart)):  # what is wrong besides must not hide it
            click.echo(line, err=True)
        raise
    if mend:  # what has a fault is a person's to mend first
        brought, kept = renewed(shell.folder, shell.now)
        done = mended_text(replace(mended, besides=(*mended.besides, *brought), kept=(*mended.kept, *kept)))
    notices = fault_lines((*found.notices, *(notice for each in apart for notice in each.notices())))
    older = [told(fact) for fact in outdated(shell.folder)]
    lines = [
        *done,
        *counted_text(found),
        *(line for text in notices for line in note_lines(text, sys.stdout)),
        *(line for text in older for line in note_lines(text, sys.stdout, "older")),
        *to_mend_text(apart),
        "Nothing is wrong." if not notices else "",
    ]
    data = {"varieties": found.varieties, "rows": found.rows, "lots": found.lots, "open_lots": found.open_lots}
    data |= {"orders": found.orders, "open_orders": found.open_orders}
    text = "\n".join(line for line in lines if line) + "\n"
    show(shell, text, data | {"notices": notices, "mended": names_back(mended.settled), "older": older})
