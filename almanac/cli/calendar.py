"""`calendar`: write the feeds."""

from __future__ import annotations

from pathlib import Path

import click

from almanac.cli.common import Shell, notices, planned, progress, shared_options, show

_MONTHS = 3


@click.command()
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), help="Write there, not into calendar/.")
@click.option("--changes", type=click.Path(path_type=Path, dir_okay=False), help="Also a file of what changed.")
@click.option("--renew", is_flag=True, help="Give every entry a new stamp, as after a backup was put back.")
@click.option("--dry-run", is_flag=True, help="Only say what would change.")
@click.option("--pdf", type=click.Path(path_type=Path, dir_okay=False), help="Instead the months ahead to hang up.")
@click.option("--text", is_flag=True, help="Instead print the months ahead as the phone will show them.")
@click.option("--months", type=click.IntRange(1, 24), metavar="N", help="With --pdf or --text: how many. [default: 3]")
@shared_options
def calendar(
    shell: Shell,
    out: Path | None,
    changes: Path | None,
    renew: bool,
    dry_run: bool,
    pdf: Path | None,
    text: bool,
    months: int | None,
) -> None:
    """Write the calendar for your phone.

    Four files in the nursery's calendar/ folder: bench.ics (rounds and jobs),
    seasons.ics (windows, light and frost dates), sales.ics, and everything.ics.
    Written again after each entry in the logbook; what did not change stays.
    If you import by hand: --out FOLDER --changes FILE, always with the same
    FOLDER, gives what changed since you last did so. Phones pass over an entry
    that is older than the one they have: after you put back a backup of the
    nursery, --renew makes all entries newer. --pdf and --text write no feeds:
    they show the months ahead, a page each to hang up, or as a list.

    Example: stickdate calendar --dry-run
    """
    if pdf or text:
        if out or changes or renew or dry_run:
            raise click.UsageError("--pdf and --text write no feeds; leave the options for feeds out")
        _ahead(shell, pdf, months or _MONTHS)
        return
    if months is not None:
        raise click.UsageError("--months goes with --pdf FILE or --text; add one, or leave --months out")
    from almanac.actions.first_steps import next_step
    from almanac.actions.refresh import refresh
    from almanac.terminal.first_steps import with_next
    from almanac.terminal.written import written_json, written_text

    done = refresh(shell.folder, shell.now, shell.as_of, out, changes, dry_run=dry_run, renew=renew)
    notices(done.reading.nursery.notices)
    show(shell, *with_next(written_text(done), written_json(done), next_step(done.reading.nursery)))


def _ahead(shell: Shell, pdf: Path | None, how_many: int) -> None:
    """The months ahead, drawn or printed."""
    from almanac.actions.draw import kind_of, write_paper
    from almanac.actions.wall import months_ahead, wall_calendar
    from almanac.terminal.wall import months_json, months_text

    if pdf is not None:
        kind_of(pdf, (".pdf",), "wall.pdf")
    seen = planned(shell)
    months = months_ahead(seen, how_many)
    if pdf is None:
        show(shell, months_text(months), months_json(months))
        return
    write_paper(pdf, wall_calendar(seen, how_many), seen.plan.as_of, progress("page"))
    show(shell, f"Drew {pdf}.\n", months_json(months) | {"picture": str(pdf)})
