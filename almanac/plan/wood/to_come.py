"""Until when lots planned are still to come: those never stuck in their season are over. Pure.

A lot planned can be stuck as long as wood of its winter can, by its method: until the sticking of its crop ends here,
or for as long as wood of it that lies in store still keeps; in a bed until its soil's last window does. One planned for
a later day than that is stuck of wood from elsewhere, until what is stuck makes little before winter.

It is over, not gone: its row stands in the logbook, and a `stuck` that names it, logged then or dated back, settles it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, timedelta

from almanac.alike import gathered
from almanac.forecast.history import counting_on, surroundings
from almanac.forecast.model import Surroundings
from almanac.nursery.lots import Lot, Planned
from almanac.nursery.nursery import Nursery
from almanac.plan.wood.account import Account, account_of, stored
from almanac.plan.wood.sticking import sticking_in
from almanac.rulebook.programmes.store import Store


def last_day(planned: Planned, lots: Iterable[Lot], account: Account) -> date:
    """The last day on which a lot planned can be stuck in the season that it was planned for.

    Args:
        planned: which
        lots: all of the nursery's, or those of its variety at least
        account: that of its wood
    """
    around, middle = account.outdoors.around, account.outdoors.winter_near(planned.day)
    method = around.method_for(planned.crop, planned.bin)
    collect = account.collecting(planned.crop, middle, (planned.number,))
    season = sticking_in(account, collect, method)
    days = [season.latest]
    if planned.day > season.latest:
        days.append(collect.buds_swell[1] + timedelta(days=round(around.book.programme(Store).in_leaf)))
    if season.ground is None:
        here = (account.of_lot(lot) for lot in lots if lot.number == planned.number and stored(lot))
        days += [wood.until for wood in here if wood.middle == middle]
    closes = (rule.closes_day or 0 for rule in around.book.methods[method].task if rule.after == "planned")
    return max(*days, planned.day + timedelta(days=max(closes, default=0)))


def last_days(nursery: Nursery, account: Account) -> Mapping[str, date]:
    """By its row, the last day of each lot planned whose day has gone by; one of winters long past had its own day.

    Args:
        nursery: as its files say on its day
        account: that of its wood
    """
    near, (winter_before, _, _) = account.outdoors.winter_near, account.outdoors.winters(nursery.as_of)
    of_number = gathered((lot.number, lot) for lot in nursery.stock.lots.values())
    return {
        each.row: each.day
        if near(each.day) < winter_before
        else last_day(each, of_number.get(each.number, ()), account)
        for each in nursery.stock.planned
        if each.day < nursery.as_of
    }


def in_season(nursery: Nursery, last: Mapping[str, date] | None = None) -> Nursery:
    """The nursery with those lots planned over that can no longer be stuck in their season.

    Args:
        nursery: as its files say on its day
        last: the last days of those whose day has gone by, where they are known
    """
    if all(each.day >= nursery.as_of for each in nursery.stock.planned):
        return nursery
    days = last_days(nursery, account_of(nursery)) if last is None else last
    over = frozenset(row for row, day in days.items() if day < nursery.as_of)
    return replace(nursery, stock=replace(nursery.stock, over=over))


def planned_of(nursery: Nursery, number: str, account: Account | None = None) -> int:
    """How many cuttings of a variety are planned that may still be stuck."""
    count, lots = 0, nursery.stock.lots.values()
    for each in nursery.stock.to_come:
        if each.number == number:
            if each.day < nursery.as_of:
                account = account or account_of(nursery)
                if last_day(each, lots, account) < nursery.as_of:
                    continue
            count += each.count
    return count


def standing(nursery: Nursery) -> tuple[Nursery, Surroundings, Mapping[str, date]]:
    """The nursery `in_season`, what its forecasts depend on, and `last_days`."""
    around = surroundings(nursery)
    if all(each.day >= nursery.as_of for each in nursery.stock.planned):
        return nursery, around, {}
    last = last_days(nursery, account_of(nursery, around))
    seen = in_season(nursery, last)
    return seen, counting_on(seen.stock, around) if seen.stock.over else around, last
