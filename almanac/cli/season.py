"""`season`: the dormant season by crop; nothing is written."""

from __future__ import annotations

import click

from almanac.cli.common import Shell, notices, shared_options, show


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
