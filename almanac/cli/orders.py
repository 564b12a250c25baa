"""`order`: take an order, ship it, cancel it, or list those that are open."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from almanac.cli.common import Shell, loaded, notices, shared_options, show
from almanac.faults import Fact

if TYPE_CHECKING:
    from almanac.actions.orders import OrderResult


@click.command()
@click.argument("number", required=False)
@click.option("--form", default="", metavar="FORM", help="dormant (cuttings) or rooted (plants).")
@click.option("--count", type=click.IntRange(min=1), metavar="N", help="How many; with --ship, a part of the order.")
@click.option("--ship-by", default="", metavar="DATE", help="The day by which it must be on its way.")
@click.option("--country", default="", metavar="CODE", help="Where to, such as US.")
@click.option("--region", default="", metavar="CODE", help="State or province it goes to, such as VA.")
@click.option("--note", default="", metavar="TEXT", help="Anything worth keeping; no buyer's name is needed.")
@click.option("--ship", default="", metavar="ORDER", help="Log what the order wants as sold, and the order as shipped.")
@click.option("--from", "lots", multiple=True, metavar="LOT", help="With --ship: from this lot; may be given again.")
@click.option("--on", default="today", show_default=True, metavar="DATE", help="With --ship: the day it was sent.")
@click.option("--cancel", default="", metavar="ORDER", help="Take back what is still open of an order.")
@click.option("--all", "everything", is_flag=True, help="List every order, not only those open.")
@shared_options
def order(
    shell: Shell,
    number: str | None,
    form: str,
    count: int | None,
    ship: str,
    lots: tuple[str, ...],
    on: str,
    cancel: str,
    everything: bool,
    **given: str,
) -> None:
    """Take an order, ship it, cancel it, or list what is open.

    Only what is there is promised: what may be sent now, less other orders and
    what is planned to be stuck; with --ship-by also plants on their way, if so
    many are ready by that day four times in five ([sale] promise_at). --ship takes the oldest wood first, or the
    plants hardened longest, unless --from says otherwise; it may be asked for
    twice without harm. Shipped by mistake? stickdate undo opens it again.

    Examples: stickdate order 7 --form rooted --count 5 --ship-by 2026-05-11
    --country US --region VA | stickdate order --ship 12 | stickdate order
    """
    if sum(map(bool, (number, ship, cancel))) > 1:
        raise click.UsageError("take an order, or --ship one, or --cancel one; not two at once")
    from almanac.actions import orders

    if ship:
        _tell(shell, orders.ship(shell.folder, shell.now, ship, lots, count, on, shell.as_of))
    elif cancel:
        _tell(shell, orders.cancel(shell.folder, shell.now, cancel, shell.as_of))
    elif number:
        if not form or count is None:
            raise click.UsageError(
                f"say what and how many, such as: stickdate order {number} --form rooted --count 5 (or --form dormant)"
            )
        wanted = orders.OrderWanted(number=number, form=form, count=count, **given)
        _tell(shell, orders.place(shell.folder, shell.now, wanted, shell.as_of))
    else:
        _list(shell, everything)


def _list(shell: Shell, everything: bool) -> None:
    from almanac.terminal.forsale import ORDER, orders_text

    nursery = loaded(shell)
    found = [each for each in nursery.orders.values() if everything or each.open]
    data = {"as_of": nursery.as_of, "orders": ORDER(found)}
    show(shell, orders_text(found, nursery, everything=everything), data)


def _tell(shell: Shell, kept: OrderResult) -> None:
    from almanac.terminal.orders import order_text, order_told_json

    if kept.set_aside:
        notices([Fact("line_set_aside", text=kept.set_aside)])
    if kept.stale:
        notices([Fact("not_refreshed", why=kept.stale)])
    logged = [f"order {kept.order.id}", *(row.id for row in kept.sold)]
    show(shell, order_text(kept), order_told_json(kept), logged)
