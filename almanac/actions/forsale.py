"""From a nursery's folder to what it has to sell, and to the lists for buyers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

from almanac.actions.by_method import known_method
from almanac.disk import write_whole
from almanac.faults import Fact, Refusal
from almanac.forecast.milestones import milestones
from almanac.nursery.load import load_nursery
from almanac.nursery.nursery import Nursery
from almanac.pictures.sale_list import COLUMNS, MARK, sale_csv, sale_page
from almanac.plain import dataclass
from almanac.plan.context.law import laws_of_offer, laws_of_parcel
from almanac.plan.wood.ahead import Ahead, ahead_with
from almanac.plan.wood.forsale import Offer, offers
from almanac.plan.wood.to_come import standing
from almanac.rulebook.law import Law
from almanac.words.law import law_in_short


@dataclass(frozen=True, kw_only=True)
class Found:
    """What a nursery has to sell, the laws that parcels of each crop may meet, and by number what is on its way."""

    nursery: Nursery
    offers: tuple[Offer, ...]
    laws: Mapping[str, tuple[Law, ...]]
    ahead: Mapping[str, Ahead]


def for_sale(folder: Path, now: datetime, as_of: date | None = None, method: str = "") -> Found:
    """Read and count; write nothing.

    Args:
        method: a way of rooting, of whose lots alone batches are told
    Raises:
        InputFaults, Refusal: as `load_nursery`
    """
    nursery = load_nursery(folder, now, as_of)
    found = offers(nursery)
    if method:
        known_method(nursery, method)
        lots = nursery.stock.lots
        kept = (tuple(each for each in offer.batches if lots[each.lot].method == method) for offer in found)
        found = tuple(replace(offer, batches=batches) for offer, batches in zip(found, kept, strict=True) if batches)
    crops = dict.fromkeys(offer.variety.crop for offer in found)
    laws = {crop: laws_of_offer(nursery.book.laws.values(), crop, nursery.place) for crop in crops}
    return Found(
        nursery=nursery, offers=found, laws={crop: each for crop, each in laws.items() if each}, ahead=_ahead(nursery)
    )


def _ahead(nursery: Nursery) -> dict[str, Ahead]:
    """By number, the plants on their way of what is sold; the milestones of all lots are worked out once."""
    if not nursery.settings.sale.rooted:
        return {}
    here = {lot.number for lot in nursery.stock.lots.values() if lot.total > lot.count("store") + lot.hardened}
    numbers = sorted((number for number in here if not nursery.varieties[number].protected), key=int)
    if not numbers:
        return {}
    nursery, around, _ = standing(nursery)
    found = {lot.id: milestones(lot, around) for lot in nursery.stock.lots.values() if lot.number in numbers}
    ahead = {number: ahead_with(nursery, number, around, found) for number in numbers}
    return {number: each for number, each in ahead.items() if each}


def list_of(found: Found, ending: str) -> str:
    """The list for buyers as a table (`csv`) or as a page (`html`)."""
    nursery = found.nursery
    titles = {name: crop.title for name, crop in nursery.book.crops.items()}
    as_of, told = nursery.as_of, {crop: law_in_short(laws) for crop, laws in found.laws.items()}
    offered = [offer for offer in found.offers if not _forbidden_here(nursery, offer)]
    if ending == "csv":
        return sale_csv(offered, titles, as_of, told, nursery.settings.sale.currency)
    settings = nursery.settings
    return sale_page(offered, titles, settings.nursery.name, as_of, told, settings.sale)


def _forbidden_here(nursery: Nursery, offer: Offer) -> bool:
    """Whether it may not be sold from here, wherever it goes."""
    here = laws_of_parcel(nursery.book.laws.values(), offer.variety.crop, nursery.place, "", "")
    return any(law.ruling == "forbidden" for law in here)


def write_lists(found: Found, table: Path | None, page: Path | None) -> list[Path]:
    """Write the lists for buyers that are asked for.

    Raises:
        Refusal: a file stands there that is no such list; nothing was written
    """
    lists = []
    if table is not None:
        lists.append((table, list_of(found, "csv"), ",".join(COLUMNS)))
    if page is not None:
        lists.append((page, list_of(found, "html"), MARK))
    for path, _, mark in lists:
        if path.is_dir():
            raise Refusal(Fact("file_is_folder", file=path))
        if path.exists() and mark.encode() not in path.read_bytes():
            raise Refusal(Fact("not_sale_list", file=path))
    for path, text, _ in lists:
        write_whole(path, text.encode("utf-8"))
    return [path for path, _, _ in lists]
