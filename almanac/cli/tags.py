"""`tags`: labels for bags and for plants that leave."""

from __future__ import annotations

from pathlib import Path

import click

from almanac.cli.common import Shell, notices, planned, progress, shared_options, show


@click.command()
@click.argument("lots", nargs=-1)
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--buyers", is_flag=True, help="For plants that leave: number, name, crop, how hardy; not for bags.")
@click.option("--each", is_flag=True, help="One for each cutting or plant. [default: one a lot]")
@click.option("--labels", "name", metavar="NAME", help="The sheet or roll, such as a4-64x38. [default: the usual one]")
@click.option("--roll", "size", type=float, nargs=2, metavar="WIDE HIGH", help="A roll of any size, in millimetres.")
@click.option("--skip", type=click.IntRange(0, 500), default=0, metavar="N", help="Labels used already on the sheet.")
@click.option("--trim", is_flag=True, help="Marks to cut by, for plain paper.")
@click.option("--page", default="", metavar="ADDRESS", help="The bench page that codes lead to. [default: as served]")
@click.option("--test", "testing", is_flag=True, help="Instead a page that shows whether the printer keeps the scale.")
@shared_options
def tags(
    shell: Shell,
    lots: tuple[str, ...],
    file: Path,
    buyers: bool,
    each: bool,
    name: str | None,
    size: tuple[float, float] | None,
    skip: int,
    trim: bool,
    page: str,
    testing: bool,
) -> None:
    """Tags for bags, and for plants that leave.

    On bags the lot's id large, with date and count, and a code that opens
    the lot on your own bench page; it holds no key. On buyers' plants the
    number, name, crop and how hardy. LOT: only these, else all that are open.
    FILE.pdf is for label sheets and rolls, FILE.csv and FILE.txt for a label
    printer's own program.

    Example: stickdate tags 7a 7b bags.pdf
    """
    from almanac.actions.draw import kind_of
    from almanac.actions.tags import KINDS, labels_named, lots_named, tags_for, write_scale, write_tags
    from almanac.words.sentences import so_many

    if name is not None and size is not None:
        raise click.UsageError("--labels and --roll both say what is printed on; leave one out")
    kind_of(file, KINDS, "tags.pdf")
    seen = planned(shell)
    labels = labels_named(name, size, seen.nursery.units)
    if testing:
        write_scale(file, labels, seen.nursery)
        show(shell, f"Drew {file}: print it at 100% and measure.\n", {"written": str(file), "labels": labels.name})
        return
    found, told = tags_for(seen, lots_named(seen.nursery, lots), buyers=buyers, each=each, page=page)
    write_tags(file, found, labels, seen.nursery, skip=skip, trim=trim, progress=progress("page"))
    notices(told)
    count = so_many(len(found), "tag")
    on = f" on {labels.name}" if file.suffix.lower() == ".pdf" else ""
    show(shell, f"Wrote {file}, {count}{on}.\n", {"written": str(file), "tags": len(found), "labels": labels.name})
