"""`wood`: what to cut of each variety, and what lies in store for what; nothing is written."""

from __future__ import annotations

import click

from almanac.cli.common import Shell, notices, shared_options, show


@click.command()
@shared_options
def wood(shell: Shell) -> None:
    """What to cut, from which plant and what for; what lies in store.

    Of the winter that is running or comes next, by variety and mother plant:
    how many cuttings and when, for lots planned, open orders, sale or spare.
    How many are wanted says the column wanted of varieties.csv; else plans and
    orders do.

    Example: stickdate wood
    """
    from almanac.actions.wood import read_wood
    from almanac.terminal.wood import wood_plan_json, wood_text

    found = read_wood(shell.folder, shell.now, shell.as_of)
    notices(found.nursery.notices)
    show(shell, wood_text(found), wood_plan_json(found))
