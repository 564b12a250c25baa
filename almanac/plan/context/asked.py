"""What is asked of a variety's dormant wood in a winter: by its own line of the table, by orders. Plain values."""

from __future__ import annotations

from almanac.nursery.nursery import Nursery
from almanac.plain import dataclass


@dataclass(frozen=True, kw_only=True)
class Asked:
    """Of one variety: cuttings `wanted` in a winter, None where nobody says; dormant ones on open `orders`.

    `crop_counted` says that of its crop somebody says how many of any; it may be sold dormant where it `sells`.
    """

    number: str
    wanted: int | None = None
    orders: int = 0
    crop_counted: bool = False
    sells: bool = False


def asked_of(nursery: Nursery) -> dict[str, Asked]:
    """What is asked of each variety, by number."""
    counted = {each.crop for each in nursery.varieties.values() if each.wanted is not None}
    orders: dict[str, int] = {}
    for order in nursery.orders.values():
        if order.form == "dormant":
            orders[order.number] = orders.get(order.number, 0) + order.open
    return {
        number: Asked(
            number=number,
            wanted=each.wanted,
            orders=orders.get(number, 0),
            crop_counted=each.crop in counted,
            sells=nursery.settings.sale.dormant and not each.protected,
        )
        for number, each in nursery.varieties.items()
    }
