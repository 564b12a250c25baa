"""`space`: how full the bins, the lamps and the room outside will be; nothing is written."""

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
