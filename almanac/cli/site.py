"""`site`: what the year brings at this site; nothing of the nursery is written, a picture where one is asked for."""

from __future__ import annotations

from pathlib import Path

import click

from almanac.cli.common import Shell, loaded, shared_options, show


@click.command()
@click.option("--accept", metavar="CHANCE", type=click.FloatRange(0, 1, min_open=True, max_open=True),
              help="Show the date after which a later frost is at most this likely, 0 to 1. "
              "[default: frost.accept in nursery.toml]")  # fmt: skip
@click.option("--every", type=click.Choice(["half-month", "day"]), default="half-month", show_default=True,
              help="Which days --json lists.")  # fmt: skip
@click.option("--picture", type=click.Path(path_type=Path), metavar="FILE", help="Draw the year: .svg, .pdf or .png.")
@shared_options
def site(shell: Shell, accept: float | None, every: str, picture: Path | None) -> None:
    """What the year brings here: frost, light, holidays.

    The frost table with its chances and where it comes from, the days left
    until your accepted risk, day length and light by half month, and the next
    public holidays while you may be sending.

    Example: stickdate site --accept 0.05
    """
    from almanac.terminal.site import site_json, site_text

    nursery = loaded(shell)
    chance = accept or nursery.settings.frost.accept
    drawn, told = {}, ""
    if picture is not None:
        from almanac.actions.draw import write_picture
        from almanac.pictures.site_year import site_picture

        write_picture(picture, nursery.as_of, "site.png", lambda: site_picture(nursery, chance))
        drawn, told = {"picture": str(picture)}, f"\nDrew {picture}.\n"
    if shell.as_json:
        show(shell, "", site_json(nursery, chance, every_day=every == "day") | drawn)
    else:
        show(shell, site_text(nursery, chance) + told, {})
