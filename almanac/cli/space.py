"""`space` and `buy`: how full the room will be, and what to buy for what takes it; nothing is written."""

from __future__ import annotations

from pathlib import Path

import click

from almanac.cli.common import Shell, planned, shared_options, show


@click.command()
@click.option("--picture", type=click.Path(path_type=Path), metavar="FILE", help="Draw it: .svg, .pdf or .png.")
@click.option("--method", default="", metavar="METHOD", help="Only the places of this way of rooting, as open_ground.")
@shared_options
def space(shell: Shell, picture: Path | None, method: str) -> None:
    """How full bins, lamps and the room outside will be.

    By week, from where everything stands and when it is forecast to move:
    what is expected, and what suffices nine times in ten. With --json by day.

    Example: stickdate space
    """
    from almanac.actions.by_method import of_places
    from almanac.actions.draw import write_picture
    from almanac.pictures.room import room_picture
    from almanac.terminal.space import space_json, space_text

    seen = planned(shell)
    if method:
        seen = of_places(seen, method.lower())
    drawn, told = {}, ""
    if picture is not None:
        name = seen.nursery.name
        write_picture(picture, seen.plan.as_of, "space.png", lambda: room_picture(seen.plan, name))
        drawn, told = {"picture": str(picture)}, f"\nDrew {picture}.\n"
    show(shell, space_text(seen.plan, seen.nursery) + told, space_json(seen.plan, seen.nursery) | drawn)


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
