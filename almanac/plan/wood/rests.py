"""Which lots are at rest on a day, as logged or by the site's year. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from almanac.forecast.model import Days
from almanac.nursery.lots import Lot, Stock
from almanac.nursery.nursery import Nursery
from almanac.plan.context.growing import GrowingYear, growing_years
from almanac.plan.context.rest import Swelling, rest_of
from almanac.plan.rest import Rest
from almanac.plan.wood.account import Account
from almanac.rulebook.book import Rulebook
from almanac.rulebook.programmes.autumn import Autumn


def rests_of(
    stock: Stock, as_of: date, years: Sequence[GrowingYear], account: Account, book: Rulebook
) -> dict[str, Rest]:
    """By lot, the rest that it is in.

    Args:
        stock: the lots
        as_of: the day
        years: the seasons round it
        account: tells when buds swell, where no frost tells when plants wake
        book: the rules
    """
    here, late = [lot for lot in stock.lots.values() if not lot.closed], _late(book)
    found = ((lot.id, rest_of(lot, as_of, years, stock.crop_signs, _swelling(account), late)) for lot in here)
    return {name: rest for name, rest in found if rest}


def rest_in(nursery: Nursery, lot: Lot, account: Account) -> Rest | None:
    """The rest that one lot of a nursery that is not planned is in."""
    accept = nursery.settings.frost.accept
    years = growing_years(nursery.book, nursery.place, nursery.frost, accept, nursery.as_of)
    signs = nursery.stock.crop_signs
    return rest_of(lot, nursery.as_of, years, signs, _swelling(account), _late(nursery.book))


def _late(book: Rulebook) -> timedelta:
    return timedelta(days=round(book.programme(Autumn).sleeps_on))


def _swelling(account: Account) -> Swelling:
    def after(crop: str, day: date) -> Days:
        found = [account.collecting(crop, middle).buds_swell for middle in account.outdoors.winters(day)]
        return next((days for days in found if days[1] > day), found[-1])

    return after
