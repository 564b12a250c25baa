"""`season` and `wood`: the dormant season by crop; what to cut, what lies in store for what. Nothing is written."""

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


@click.command()
@click.argument("crop", required=False)
@click.option("--method", default="", metavar="METHOD", help="Stuck by this way of rooting, as open_ground.")
@shared_options
def season(shell: Shell, crop: str | None, method: str) -> None:
    """When to take wood, sell it dormant, post it and stick it.

    Of the winter that is running or comes next, for each crop you grow or one
    CROP: from which day to which, how long wood keeps, the next post days, and
    when lots stuck on the first, best and last day are rooted and ready.

    Example: stickdate season
    """
    from almanac.actions.season import read_season
    from almanac.terminal.season import season_json, season_text

    found = read_season(shell.folder, shell.now, shell.as_of, crop.lower() if crop else None, method.lower())
    notices(found.nursery.notices)
    show(shell, season_text(found), season_json(found))
