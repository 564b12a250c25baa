"""`serve` and `keys`: the calendar and the bench page for phones on the same network."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from almanac.cli.codes import code_of
from almanac.cli.common import Shell, notices, shared_options, show
from almanac.cli.waiting import enough
from almanac.faults import Fact
from almanac.words.subscribing import FEEDS

if TYPE_CHECKING:
    from almanac.web.keys import Keys, Which
    from almanac.web.server import Addresses


@click.command()
@click.option("--host", default="127.0.0.1", metavar="HOST", help="Where to listen. [default: 127.0.0.1, here only]")
@click.option("--port", type=click.IntRange(0, 65535), default=8765, metavar="PORT", help="[default: 8765]")
@click.option("--name", "names", multiple=True, metavar="NAME", help="A further name this machine is asked by.")
@click.option("--all-addresses", is_flag=True, help="Also the other addresses of this machine, and parts of the feed.")
@shared_options
def serve(shell: Shell, host: str, port: int, names: tuple[str, ...], all_addresses: bool) -> None:
    """Serve the calendar and the bench page to phones on your network.

    Shows a code to scan: it lets a phone see the bench and log, and the page
    called Calendar subscribes it. With --host 0.0.0.0 every device on your
    network that has an address can use it. Ctrl-C stops it.

    Example: stickdate serve --host 0.0.0.0
    """
    import gc
    from datetime import UTC, datetime

    from almanac.nursery.load import load_nursery
    from almanac.web.server import serve as run

    gc.set_threshold(100_000, 20, 20)  # it runs for months, where other commands end before it matters

    found = load_nursery(shell.folder, shell.now, shell.as_of, whatever_rules=True)  # what is wrong is said first
    if found.rules_wrong:
        notices([Fact("not_refreshed", why=Fact("rules_wrong", faults=found.rules_wrong))])

    def ready(found: Addresses, keys: Keys) -> None:
        enough()
        click.echo(_told(found, keys, every=all_addresses))

    run(shell.folder, lambda: datetime.now(UTC), host, port, names, ready, shell.as_of)


def _told(found: Addresses, keys: Keys, *, every: bool) -> str:
    """What the grower needs to know once it listens, no more than stays on a screen of 24 lines.

    One address: of several nobody knows which to take.
    """
    page = found.page(keys)
    if found.only_here:
        lines = [
            "Serving this nursery to this computer alone; Ctrl-C stops it. No phone gets it;",
            "for phones on your network, stickdate serve --host 0.0.0.0",
            "",
            "The bench page, here:",
            f"  {page}",
            "The calendar, for a program here:",
        ]
    else:
        lines = [
            "Scan this to let a phone in; its page Calendar subscribes it. Ctrl-C stops.",
            code_of(page) or "(This terminal cannot draw the code; open the address instead.)",
            f"  {page}",
            "The calendar alone (plain http: for home, never to be opened to the internet):",
        ]
    lines.append(f"  {found.feed(keys)}")
    return "\n".join([*lines, *(_others(found, keys) if every else ())])


def _others(found: Addresses, keys: Keys) -> list[str]:
    """By what else it is reached: the page, then the calendar, of each further name or number of this machine."""
    pairs = [(found.page(keys, host), found.feed(keys, host=host)) for host in found.hosts[1:]]
    if not pairs:
        return ["It has no other address."]
    feeds = [name for name in FEEDS if name != "everything"]
    return [
        "By its other addresses, the page and the calendar:",
        *(f"  {address}" for pair in pairs for address in pair),
        f"The calendar in parts: {', '.join(feeds)} in place of everything.",
    ]


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
    text = f"{what} new, in {FILE}; the old opens nothing.\nSee the new addresses with: stickdate serve\n"
    show(shell, text, {"renewed": [which] if which else ["read", "write"]})
