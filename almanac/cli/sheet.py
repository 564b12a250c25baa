"""`sheet`: the round on paper, and pages for whoever helps."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from almanac.cli.common import Shell, day_option, planned, progress, shared_options, show


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--day", metavar="DATE", help="Of this day. [default: today's round, else the next]")
@click.option("--days", type=click.IntRange(1, 60), metavar="N", help="Every round of so many days from today.")
@click.option("--away", is_flag=True, help="Pages for who helps on your days away, as nursery.toml has them.")
@shared_options
def sheet(shell: Shell, file: Path, day: str | None, days: int | None, away: bool) -> None:
    """The bench round on paper, with boxes to tick.

    Bins and lots in walking order, what to look for, what is due and until
    when, a field for a count, room for notes, cautions once. Each line says
    what to log; the bench page has the same order. With --away, pages for
    someone who has never done it: only what must be done on those days.

    Example: stickdate sheet bench.pdf
    """
    from almanac.actions.draw import kind_of, write_paper
    from almanac.actions.paper import bench_sheet_pages, helper_pages
    from almanac.faults import InputFaults
    from almanac.words.sentences import so_many

    if sum(map(bool, (day, days, away))) > 1:
        raise click.UsageError("--day, --days and --away ask for different sheets; name one of them")
    when = day_option("--day", day)
    kind_of(file, (".pdf",), "bench.pdf")
    try:
        seen = planned(shell)
    except InputFaults:
        if not away:  # who helps must not be sent by an old plan
            _write_last(shell, file, when, days)
        raise
    pages = helper_pages(seen) if away else bench_sheet_pages(seen, when, days)
    write_paper(file, pages, seen.plan.as_of, progress("page"))
    count = so_many(len(pages), "page")
    show(shell, f"Drew {file}, {count}.\n", {"written": str(file), "pages": len(pages)})


def _write_last(shell: Shell, file: Path, day: date | None, days: int | None) -> None:
    """What was last written for the days as plain lines, where the nursery's own rules alone keep a newer plan away."""
    from almanac.actions.draw import write_paper
    from almanac.actions.last_plan import last_plan
    from almanac.pictures.lines import pages_of_lines
    from almanac.terminal.last_plan import last_plan_lines

    last = last_plan(shell.folder, shell.now, shell.as_of)
    if last is None:
        return
    as_of = last.nursery.as_of
    ahead = (max(day or as_of, as_of) - as_of).days + 1
    pages = pages_of_lines(last_plan_lines(last, days or ahead), f"{last.nursery.name}: as last written", last.nursery)
    write_paper(file, pages, as_of, progress("page"))
    show(shell, f"Drew {file}, as last written.\n", {"written": str(file), "pages": len(pages)})
