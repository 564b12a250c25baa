"""`new`: make a nursery's folder, asking in a terminal what no option says."""

from __future__ import annotations

from pathlib import Path

import click

from almanac.cli.common import Shell, shared_options, show

_DATES_HELP = (
    "Dates such as 04-17, or with chances: '90%=04-04,50%=04-17,10%=04-30'; 'never' where it never freezes. "
    "[default: the nearest station's]"
)


@click.command()
@click.argument("folder", type=click.Path(path_type=Path), required=False)
@click.option("--example", is_flag=True, help="Make a small invented nursery to play with; asks nothing.")
@click.option("--name", help="The nursery's name. [default: the folder's]")
@click.option("--units", type=click.Choice(["us", "metric"]), help="How values are shown.")
@click.option("--town", help="Such as 'Ames, Iowa': position and time zone of a town of over 15,000 are known.")
@click.option("--latitude", type=float, help="Degrees, north positive. [default: the town's]")
@click.option("--longitude", type=float, help="Degrees, east positive. [default: the town's]")
@click.option("--elevation", help="Such as '1150 ft' or '350 m'.")
@click.option("--timezone", help="Such as America/New_York. [default: the town's]")
@click.option("--country", help="Two letters, such as US, for public holidays.")
@click.option("--region", help="State or province, such as VA.")
@click.option("--last-frost", help=f"Last spring frost. {_DATES_HELP}")
@click.option("--first-frost", help="First autumn frost, likewise.")
@click.option("--frost-source", help="Where the frost dates come from.")
@click.option("--bench-days", help="The days you go through the bags. [default: tue,fri,sun]")
@click.option("--bench-time", help="Such as 18:30; left out, entries are all-day.")
@click.option("--bins", help="Names of bins, such as A,B.")
@click.option("--bags", type=click.IntRange(min=1), help="Bags a bin holds. [default: 24]")
@click.option("--mat", help="What the mats are set to, such as '78 F'.")
@click.option("--air", help="How warm it is round the tops, such as '66 F'.")
@click.option("--variety", multiple=True, metavar="TEXT", help="A first one: '1, Old brown, fig'; may be given again.")
@shared_options
def new(
    shell: Shell, folder: Path | None, example: bool, variety: tuple[str, ...], **given: str | float | None
) -> None:
    """Make a nursery folder.

    Asks some questions in a terminal, each answer checked when given; Ctrl-C
    leaves, and the same command goes on from there. Every answer may be given
    as an option instead. The files it writes are made to be edited by hand.

    Example: stickdate new quince-lane --town "Roanoke, Virginia"
    --elevation "1150 ft" --last-frost 04-17 --first-frost 10-18
    """
    from almanac.actions.start import EXAMPLE, EXAMPLE_DAY, refuse_existing, start, start_example
    from almanac.terminal.started import example_text, made_text

    if example:
        folder = folder or Path(EXAMPLE)
        written = start_example(folder)
        show(shell, example_text(folder, EXAMPLE_DAY), {"written": [str(path) for path in written]})
        return
    if folder is None:
        raise click.UsageError("name the folder to make, such as: stickdate new quince-lane")
    refuse_existing(folder)
    from almanac.cli.answering import answers_asked
    from almanac.cli.asking import Asking

    texts = {key: None if value is None else str(value) for key, value in given.items()}
    asking = Asking(folder, texts | {"varieties": "\n".join(variety) or None})
    try:
        answers = answers_asked(asking, folder)
    except (click.Abort, KeyboardInterrupt):  # left while it was asked, or while it spoke
        if asking.in_terminal:
            click.echo(f"\nWhat you answered is kept; go on with: stickdate new {folder}", err=True)
        raise
    written = start(folder, answers)
    asking.forget()
    unshown = answers.nearest_station and not asking.in_terminal
    text = made_text(folder, answers.name, [number for number, *_ in answers.varieties], unshown=unshown)
    show(shell, text, {"written": [str(path) for path in written]})
