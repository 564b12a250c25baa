"""`calendar`: write the feeds."""

from __future__ import annotations

from pathlib import Path

import click

from almanac.cli.common import Shell, notices, shared_options, show


@click.command()
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), help="Write there, not into calendar/.")
@click.option("--changes", type=click.Path(path_type=Path, dir_okay=False), help="Also a file of what changed.")
@click.option("--renew", is_flag=True, help="Give every entry a new stamp, as after a backup was put back.")
@click.option("--dry-run", is_flag=True, help="Only say what would change.")
@shared_options
def calendar(shell: Shell, out: Path | None, changes: Path | None, renew: bool, dry_run: bool) -> None:
    """Write the calendar for your phone.

    Four files in the nursery's calendar/ folder: bench.ics (rounds and jobs),
    seasons.ics (windows, light and frost dates), sales.ics, and everything.ics.
    Written again after each entry in the logbook; what did not change stays.
    If you import by hand: --out FOLDER --changes FILE, always with the same
    FOLDER, gives what changed since you last did so. Phones pass over an entry
    that is older than the one they have: after you put back a backup of the
    nursery, --renew makes all entries newer.

    Example: stickdate calendar --dry-run
    """
    from almanac.actions.refresh import refresh
    from almanac.terminal.written import written_json, written_text

    done = refresh(shell.folder, shell.now, shell.as_of, out, changes, dry_run=dry_run, renew=renew)
    notices(done.reading.nursery.notices)
    made, paths = done.publication, [str(path) for path in done.written]
    text = written_text(made.changes, made.reworded, made.entries, paths, done.reading.plan.as_of)
    show(shell, text, written_json(made.changes, made.reworded, made.entries, paths))
