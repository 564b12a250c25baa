"""`strike`: which varieties strike well here, and how many cuttings to stick; nothing is written."""

from __future__ import annotations

from pathlib import Path

import click

from almanac.cli.common import Shell, loaded, shared_options, show

CHANCE = 0.9


@click.command()
@click.option("--variety", metavar="NUMBER", help="Only this variety.")
@click.option("--crop", metavar="CROP", help="Only this crop.")
@click.option("--method", metavar="METHOD", help="Only this way of rooting. [with --plants: the nursery's usual one]")
@click.option("--plants", type=click.IntRange(min=1), metavar="N", help="How many cuttings to stick for N plants.")
@click.option(
    "--chance",
    type=click.FloatRange(0, 1, min_open=True, max_open=True),
    metavar="CHANCE",
    help=f"With --plants: how sure to be of them, 0 to 1. [default: {CHANCE}]",
)
@click.option("--back-test", "testing", is_flag=True, help="How forecasts would have done, with learning and without.")
@click.option("--picture", type=click.Path(path_type=Path), metavar="FILE", help="Draw it: .svg, .pdf or .png.")
@shared_options
def strike(
    shell: Shell,
    variety: str | None,
    crop: str | None,
    method: str | None,
    plants: int | None,
    chance: float | None,
    testing: bool,
    picture: Path | None,
) -> None:
    """How varieties strike, how long they take, how many to stick.

    The shares that root and that finish, by crop, method, variety and winter,
    with their ranges and the counts behind them; and your own days beside the
    rule's. With --plants: how many cuttings to stick as one lot to have so
    many plants.

    Example: stickdate strike --plants 20 --variety 7 --chance 0.9
    """
    from almanac.actions.draw import write_picture
    from almanac.actions.strike import asked_for, cuttings_for, forecasts_tried, strike_table
    from almanac.pictures.strike import strike_picture
    from almanac.terminal.back_test import back_test_json, back_test_text
    from almanac.terminal.strike import sticking_json, sticking_text, strike_json, strike_text
    from almanac.terminal.timings import durations_json, durations_text

    if chance is not None and plants is None:
        raise click.UsageError("--chance goes with --plants N; add it, or leave --chance out")
    if testing and plants is not None:
        raise click.UsageError("--back-test looks back and --plants ahead; ask for one of the two")
    if picture is not None and (testing or plants is not None):
        raise click.UsageError("--picture draws the shares; leave --plants and --back-test out")
    nursery = loaded(shell)
    asked = asked_for(nursery, variety, crop, method)
    if plants is not None:
        found = cuttings_for(nursery, asked, plants, chance or CHANCE)
        show(shell, sticking_text(found, nursery), sticking_json(found, nursery))
        return
    if testing:
        tried = forecasts_tried(nursery, asked)
        show(shell, back_test_text(tried, nursery), back_test_json(tried, nursery))
        return
    rates, known = strike_table(nursery, asked)
    text = [strike_text(rates, known, nursery, asked), durations_text(nursery, asked)]
    data = strike_json(rates, known, nursery) | {"durations": durations_json(nursery, asked)}
    if picture is not None:
        write_picture(picture, nursery.as_of, "strike.png", lambda: strike_picture(rates, nursery))
        text.append(f"Drew {picture}.\n")
        data |= {"picture": str(picture)}
    show(shell, "\n".join(filter(None, text)), data)
