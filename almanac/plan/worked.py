"""What programmes came to: the figures behind a date that was worked out, for those who ask why. Plain values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from almanac.nursery.order_rows import Form


@dataclass(frozen=True)
class Worked:
    """The figures of one task; each programme has its own. `words.worked` tells them."""


@dataclass(frozen=True)
class Shipment(Worked):
    """An order still open: what of it is to be sent, where to, by when; `sendable` of that kind can be sent now."""

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
