"""`chart`: the season as a picture, in the terminal or as a file."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from almanac.cli.common import Shell, day_option, notices, progress, shared_options, show


@click.command()
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option("--from", "first", metavar="DATE", help="The first day shown. [default: the oldest lot's]")
@click.option("--to", "last", metavar="DATE", help="The last day shown. [default: when the last lot is outside]")
@click.option("--lot", "lots", multiple=True, metavar="LOT", help="Only this lot; may be given again.")
@shared_options
def chart(shell: Shell, file: Path | None, first: str | None, last: str | None, lots: tuple[str, ...]) -> None:
    """The season as a picture, one row a lot.

    From what was logged to what is forecast, with early, likely and late
    days, today, frost risk, days away and rounds. FILE.svg and FILE.png are
    one sheet, FILE.pdf has pages to print; without FILE it is drawn here.

    Example: stickdate chart season.pdf
    """
    from almanac.actions.chart import season_asked
    from almanac.actions.draw import kind_of, write_picture
    from almanac.pictures.chart import chart_long, chart_sheets
    from almanac.pictures.style import sheet_size
    from almanac.terminal.chart import chart_json, chart_text

    begin, end = day_option("--from", first), day_option("--to", last)
    if begin and end and begin >= end:
        raise click.UsageError(f"--from {begin} is not before --to {end}")
    if file is not None:
        kind_of(file, (".svg", ".pdf", ".png"), "season.pdf")
    nursery, season = season_asked(shell.folder, shell.now, shell.as_of, begin, end, lots)
    notices(nursery.notices)
    data = chart_json(season)
    if file is None:
        fancy = sys.stdout.isatty() and "utf" in (sys.stdout.encoding or "").lower()
        show(shell, chart_text(season, fancy=fancy), data)
        return
    size = sheet_size(nursery.units, landscape=True)
    write_picture(
        file, nursery.as_of, "season.pdf", lambda: chart_long(season, size[0]),
        lambda: chart_sheets(season, *size), progress("page"),
    )  # fmt: skip
    show(shell, f"Drew {file}.\n", data | {"picture": str(file)})
