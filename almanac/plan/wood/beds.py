"""Sticks without roots in a bed that the winter they stand in freezes hard, or kills: what to say of them. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from almanac.faults import Fact
from almanac.nursery.lots import Lot
from almanac.nursery.settings import Settings
from almanac.plan.wood.account import Account
from almanac.plan.wood.ground import Ground, ground_for
from almanac.units import System


def exposed(lots: Iterable[Lot], account: Account, settings: Settings, units: System) -> Iterator[Fact]:
    """For each crop in each bed what the rest of the winter does to its sticks, an estimate from the site's usual lows.

    Args:
        lots: those to speak of
        account: that of the nursery's wood
        settings: name its beds
        units: it measures in
    """
    as_of = account.outdoors.around.as_of
    found: dict[tuple[str, str], list[tuple[Lot, Ground]]] = {}
    for lot in lots:
        ground = _ground(lot, account)
        if ground is not None and as_of < ground.opens:
            found.setdefault((lot.bin, lot.crop), []).append((lot, ground))
    for (place, crop), here in found.items():
        names, ground = tuple(lot.id for lot, _ in here), here[-1][1]
        where = settings.called(place)
        if ground.refused == "winter_kills":
            yield Fact("bed_kills", lots=names, place=where, crop=crop.replace("_", " "))
        elif ground.heaves:
            yield Fact(
                "bed_freezes_hard", lots=names, place=where, coldest=ground.coldest_c, units=units, opens=ground.opens
            )


def _ground(lot: Lot, account: Account) -> Ground | None:
    """The soil of the winter that a lot was stuck in as bare wood; None where it stands in no bed."""
    book, stuck = account.outdoors.around.book, lot.steps.get("stuck")
    if book.methods[lot.method].place != "bed" or lot.method not in book.crops[lot.crop].method:
        return None
    if stuck is None or not lot.in_place:
        return None
    middle = account.outdoors.winter_near(stuck)
    collect = account.collecting(lot.crop, middle)
    ground = ground_for(collect, lot.method, account.outdoors)
    return ground if collect.opens <= stuck < ground.opens else None
