"""`forsale`: what there is to sell, and the list to send to buyers."""

from __future__ import annotations

from pathlib import Path

import click

from almanac.cli.common import Shell, notices, shared_options, show


@click.command()
@click.option("--csv", "table", type=click.Path(path_type=Path), metavar="FILE", help="Write buyers' list as a table.")
@click.option("--html", "page", type=click.Path(path_type=Path), metavar="FILE", help="Write buyers' list as a page.")
@click.option("--method", default="", metavar="METHOD", help="Only of lots rooted this way, as open_ground.")
@shared_options
def forsale(shell: Shell, table: Path | None, page: Path | None, method: str) -> None:
    """What there is to sell, what is promised, the list for buyers.

    Dormant cuttings in store and plants logged as hardened, less what is
    promised, planned to be stuck, or held back for swelling buds, trouble or
    treatment. --html and --csv write the list to send to buyers: what is free,
    with prices from varieties.csv; protected varieties are never on it.

    Example: stickdate forsale --html for-sale.html
    """
    from almanac.actions.forsale import for_sale, write_lists
    from almanac.terminal.forsale import forsale_json, forsale_text

    found = for_sale(shell.folder, shell.now, shell.as_of, method.lower())
    notices(found.nursery.notices)
    written = write_lists(found, table, page)
    about = found.offers, found.nursery, found.laws, found.ahead
    text = forsale_text(*about) + "".join(f"Written: {path}\n" for path in written)
    data = forsale_json(*about) | {"written": [str(path) for path in written]}
    show(shell, text, data)
