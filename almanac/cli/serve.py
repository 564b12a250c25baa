"""`serve` and `keys`: the calendar and the bench page for phones on the same network."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from almanac.cli.common import Shell, notices, shared_options, show
from almanac.faults import Fact

if TYPE_CHECKING:
    from almanac.web.keys import Keys, Which
    from almanac.web.server import Addresses


@click.command()
@click.option("--host", default="127.0.0.1", metavar="HOST", help="Where to listen. [default: 127.0.0.1, here only]")
@click.option("--port", type=click.IntRange(0, 65535), default=8765, metavar="PORT", help="[default: 8765]")
@click.option("--name", "names", multiple=True, metavar="NAME", help="A further name this machine is asked by.")
@shared_options
def serve(shell: Shell, host: str, port: int, names: tuple[str, ...]) -> None:
    """Serve the calendar and the bench page to phones on your network.

    Prints the address to subscribe to and, as a QR code, the one that lets a
    phone see the bench and log. With --host 0.0.0.0 every device on your network that has an
    address can use it. Ctrl-C stops it.

    Example: stickdate serve --host 0.0.0.0
    """
    from datetime import UTC, datetime

    from almanac.nursery.load import load_nursery
    from almanac.web.server import serve as run

    found = load_nursery(shell.folder, shell.now, shell.as_of, whatever_rules=True)  # what is wrong is said first
    if found.rules_wrong:
        notices([Fact("not_refreshed", why=Fact("rules_wrong", faults=found.rules_wrong))])

    def ready(found: Addresses, keys: Keys) -> None:
        click.echo(_told(found, keys, open_to_all=host in ("0.0.0.0", "::")))

    run(shell.folder, lambda: datetime.now(UTC), host, port, names, ready, shell.as_of)


def _told(found: Addresses, keys: Keys, *, open_to_all: bool) -> str:
    """What the grower needs to know once it listens."""
    page = found.page(keys)
    lines = ["Serving this nursery. Stop it with Ctrl-C.", "", "Subscribe your calendar to:"]
    lines += [f"  {found.feed(keys, host=host)}" for host in found.hosts]
    lines += ["  (bench, seasons or sales instead of everything, if you want them apart)", ""]
    lines += ["Log from a phone: open this there once, then it knows the phone.", f"  {page}", "", _qr_code(page)]
    if open_to_all:
        lines += [
            "Every device on this network that has an address can use it: who has the first reads the calendar, who",
            "has the second logs. It is plain http: fine at home, never to be opened to the internet.",
        ]
    else:
        lines += ["Only this machine can reach it. For a phone on your network: --host 0.0.0.0"]
    return "\n".join(lines)


def _qr_code(address: str) -> str:
    """The address as a QR code; a line instead where the terminal has not the signs to draw it."""
    import io
    import sys

    import segno

    drawn = io.StringIO()
    segno.make(address, micro=False).terminal(drawn, border=2, compact=True)
    try:
        drawn.getvalue().encode(sys.stdout.encoding or "ascii")
    except UnicodeEncodeError:
        return "(This terminal cannot draw the QR code of it.)\n"
    return drawn.getvalue()


@click.group()
def keys() -> None:
    """The keys in the addresses of the phone's calendar and page.

    Example: stickdate keys renew
    """


@keys.command("renew")
@click.argument("which", type=click.Choice(["read", "write"]), required=False)
@shared_options
def keys_renew(shell: Shell, which: Which | None) -> None:
    """Make new keys; the old open nothing from now on.

    READ is the one in the calendar's address, WRITE the one that lets phones
    log; without either, both. Subscribe, and let phones in, anew. With READ the
    names of published files change, too; publish once more, and the old go.

    Example: stickdate keys renew write
    """
    from almanac.nursery.load import load_nursery
    from almanac.web.keys import FILE, renew

    load_nursery(shell.folder, shell.now, shell.as_of)
    renew(shell.folder, which)
    what = {"read": "The calendar's key is", "write": "The phones' key is", None: "Both keys are"}[which]
    text = f"{what} new, in {FILE}; the old opens nothing. See the new addresses with: stickdate serve\n"
    show(shell, text, {"renewed": [which] if which else ["read", "write"]})
