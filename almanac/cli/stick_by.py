"""`stick-by`: what to stick when, to have so many plants ready by a day; with --accept it is planned."""

from __future__ import annotations

import click

from almanac.cli.common import Shell, planned, shared_options, show
from almanac.cli.record import tell


@click.command("stick-by")
@click.argument("day", metavar="DATE")
@click.option("--plants", type=click.IntRange(1, 5000), metavar="N", required=True, help="How many plants to have.")
@click.option("--variety", metavar="NUMBER", help="Of this variety.")
@click.option("--crop", metavar="CROP", help="Of this crop, where the variety is not in varieties.csv.")
@click.option("--method", metavar="METHOD", help="By this way of rooting. [default: the usual one that suits the crop]")
@click.option(
    "--accept",
    type=click.Choice(["50%", "80%", "90%"]),
    help="Write the waves of the way with this chance as planned lots.",
)
@shared_options
def stick_by(
    shell: Shell, day: str, plants: int, variety: str | None, crop: str | None, method: str | None, accept: str | None
) -> None:
    """What to stick when, to have so many plants by a day.

    The last day to stick, how many cuttings and in which bins, for a chance
    of 50, 80 and 90%; in several waves where they do not fit at once; and
    where it cannot be done, the nearest that can.

    Example: stickdate stick-by 2026-06-20 --plants 20 --variety 7
    """
    from almanac.actions.stick_by import accept as accepted
    from almanac.actions.stick_by import stick_by as worked_out
    from almanac.faults import Miswritten
    from almanac.nursery.logbook import read_day
    from almanac.terminal.stick_by import stick_by_json, stick_by_text
    from almanac.words.faults import fact_text

    try:
        by = read_day(day)
    except Miswritten as error:
        raise click.UsageError(fact_text(error.fact)) from None
    seen = planned(shell)
    found = worked_out(seen, by, plants, variety, crop, method)
    if accept is None:
        show(shell, stick_by_text(found, seen.nursery), stick_by_json(found, seen.nursery))
        return
    way = next(way for way in found.ways if f"{way.chance:.0%}" == accept)
    tell(shell, accepted(shell.folder, shell.now, found, way, shell.as_of))
