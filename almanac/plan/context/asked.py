"""What is asked of the nursery: of a variety's dormant wood in a winter, and by each order still open. Plain values."""

from __future__ import annotations

from datetime import date

from almanac.nursery.nursery import Nursery
from almanac.nursery.order_rows import Form
from almanac.plain import dataclass
from almanac.plan.derivation import Derivation
from almanac.rulebook.law import Law


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


@dataclass(frozen=True, kw_only=True)
class Shipment(Derivation):
    """An order still open: what of it is to be sent, where to, by when; `sendable` of that kind can be sent now.

    `laws` are those that hold for its parcel; `chance` is that of plants still on their way to be ready in time;
    `never_stuck` cuttings of its variety were planned when it was taken, and their season went by.
    """

    order: str
    ordered: date
    number: str
    crop: str
    form: Form
    count: int
    of: int
    country: str
    region: str
    ship_by: date
    sendable: int
    laws: tuple[Law, ...] = ()
    chance: float | None = None
    never_stuck: int = 0


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
