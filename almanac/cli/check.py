"""`check`: say what is wrong in the nursery's files, and put back rows a spreadsheet lost."""

from __future__ import annotations

import click

from almanac.cli.common import Shell, shared_options, show


@click.command()
@click.option("--mend", is_flag=True, help="Put back logbook rows that only the backup still holds.")
@shared_options
def check(shell: Shell, mend: bool) -> None:
    """Say what is wrong in the nursery's files.

    Every fault is one line, with the file, the line or key, and the remedy.

    Example: stickdate check
    """
    from almanac.actions.check import check_nursery
    from almanac.actions.record import mend as put_back

    mended = [row.id for row in put_back(shell.folder, shell.now)] if mend else []
    found = check_nursery(shell.folder, shell.now, shell.as_of)
    lines = [f"Put back {', '.join(mended)}."] if mended else []
    lines += [
        f"{found.varieties} varieties, {found.rows} rows, {found.lots} lots, {found.open_lots} of them open.",
        *(f"note: {text}" for text in found.notices),
        "Nothing is wrong." if not found.notices else "",
    ]
    data = {"varieties": found.varieties, "rows": found.rows, "lots": found.lots, "open_lots": found.open_lots}
    show(
        shell,
        "\n".join(line for line in lines if line) + "\n",
        data | {"notices": list(found.notices), "mended": mended},
    )
