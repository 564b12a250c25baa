"""`check`: say what is wrong in the nursery's files, and put back rows a spreadsheet lost."""

from __future__ import annotations

import click

from almanac.cli.common import Shell, shared_options, show


@click.command()
@click.option("--mend", is_flag=True, help="Put back rows that only the backups still hold.")
@shared_options
def check(shell: Shell, mend: bool) -> None:
    """Say what is wrong in the nursery's files.

    Every fault is one line, with the file, the line or key, and the remedy.

    Example: stickdate check
    """
    from almanac.actions.check import check_nursery
    from almanac.actions.orders import mend as put_back_orders
    from almanac.actions.record import mend as put_back
    from almanac.words.faults import fault_line

    mended = [row.id for row in put_back(shell.folder, shell.now)] if mend else []
    mended += [f"order {row.order}" for row in put_back_orders(shell.folder, shell.now)] if mend else []
    found = check_nursery(shell.folder, shell.now, shell.as_of)
    notices = [fault_line(notice) for notice in found.notices]
    lines = [f"Put back {', '.join(mended)}."] if mended else []
    lines += [
        f"{found.varieties} varieties, {found.rows} rows, {found.lots} lots, {found.open_lots} of them open.",
        *([f"{found.orders} orders, {found.open_orders} of them open."] if found.orders else []),
        *(f"note: {text}" for text in notices),
        "Nothing is wrong." if not notices else "",
    ]
    data = {"varieties": found.varieties, "rows": found.rows, "lots": found.lots, "open_lots": found.open_lots}
    data |= {"orders": found.orders, "open_orders": found.open_orders}
    show(
        shell,
        "\n".join(line for line in lines if line) + "\n",
        data | {"notices": notices, "mended": mended},
    )
