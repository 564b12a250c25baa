"""An order still open that is to be shipped by a day. Plain values."""

from __future__ import annotations

from datetime import date

from almanac.nursery.order_rows import Form
from almanac.plain import dataclass
from almanac.plan.derivation import Derivation
from almanac.rulebook.law import Law


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
