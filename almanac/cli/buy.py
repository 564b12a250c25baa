"""`buy`: what to buy for the season, and by when; nothing is written."""

from __future__ import annotations

import click

from almanac.cli.common import Shell, planned, shared_options, show


@click.command()
@click.option("--method", default="", metavar="METHOD", help="Only for what is rooted this way, as covered_tray.")
@shared_options
def buy(shell: Shell, method: str) -> None:
    """What to buy for the lots planned and rooting, and by when.

    Bags, bands, labels and mix for what is planned to be stuck; pots, labels
    and mix for what is likely to be potted up; cards for the bins, and a
    reserve of larvicide. Less what [supplies] in nursery.toml says is in hand:
    perlite = "40 l", bags = 120.

    Example: stickdate buy
    """
    from almanac.actions.by_method import of_lots
    from almanac.plan.room.supplies import buying_list
    from almanac.terminal.supplies import supplies_json, supplies_text

    seen = planned(shell)
    if method:
        seen = of_lots(seen, method.lower())
    found = buying_list(seen.nursery, seen.plan)
    show(shell, supplies_text(found, seen.nursery), supplies_json(found, seen.nursery))
