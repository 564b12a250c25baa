"""From a nursery to what stands on its tags: one for a bag's lot, one for a buyer's plant. Pure."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from datetime import date

from almanac.nursery.lots import Lot
from almanac.nursery.nursery import Nursery
from almanac.pictures.sale_list import formula_safe
from almanac.plain import dataclass
from almanac.units import temperature
from almanac.words.dates import day

COLUMNS = ("lot", "number", "name", "crop", "date", "count", "hardy", "protected", "licence", "address")
HEAD = "Tags by stickdate"


@dataclass(frozen=True, kw_only=True)
class BagTag:
    """What goes on a bag: its lot, since when and how many; `address` is its page on the own network, or empty."""

    lot: str
    day: date
    since: str
    count: int
    address: str


@dataclass(frozen=True, kw_only=True)
class BuyerTag:
    """What goes on a plant that leaves: no lot, no address of ours."""

    number: str
    name: str
    crop: str
    hardy: str
    protected: bool
    licence: str


def bag_tags(lots: Sequence[Lot], page: str, *, each: bool = False) -> list[BagTag]:
    """One for each lot, or one for each of its cuttings.

    Args:
        lots: those to be labelled
        page: the address of the bench page, without a key; empty where there is none
        each: as many as the lot has cuttings
    """
    found = []
    for lot in lots:
        stuck = lot.steps.get("stuck")
        when, since = (stuck, "stuck") if stuck else (lot.started, "from")
        tag = BagTag(lot=lot.id, day=when, since=since, count=lot.total, address=f"{page}lot/{lot.id}" if page else "")
        found += [tag] * (max(lot.total, 1) if each else 1)
    return found


def buyer_tags(lots: Sequence[Lot], nursery: Nursery, *, each: bool = False) -> list[BuyerTag]:
    """The same for those who buy; a protected variety without a licence gets none: it may not be passed on."""
    found = []
    for lot in lots:
        variety, crop = nursery.varieties[lot.number], nursery.book.crops[lot.crop]
        if variety.protected:
            continue
        cold = crop.cold
        young, grown = (temperature(wood.killed, nursery.units) for wood in (cold.young_wood, cold.grown_wood))
        hardy = f"Hardy at rest to about {young} when young, {grown} when grown"
        tag = BuyerTag(
            number=variety.number,
            name=variety.name,
            crop=crop.title,
            hardy=hardy,
            protected=bool(variety.licence),
            licence=variety.licence,
        )
        count = lot.count("pot") + lot.count("outside") or lot.total
        found += [tag] * (max(count, 1) if each else 1)
    return found


def without_licence(lots: Sequence[Lot], nursery: Nursery) -> list[str]:
    """The protected varieties among them that buyers may not have."""
    numbers = dict.fromkeys(lot.number for lot in lots)
    return [number for number in numbers if nursery.varieties[number].protected]


def protected_words(tag: BuyerTag) -> str:
    """What a protected plant must say; empty of others."""
    if not tag.protected:
        return ""
    return f"Protected variety: may not be propagated. Labelled under licence: {tag.licence}"


def tags_csv(tags: Sequence[BagTag | BuyerTag]) -> str:
    """A row a tag, for any label printer's own program."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for tag in tags:
        if isinstance(tag, BagTag):
            cells = (tag.lot, "", "", "", tag.day.isoformat(), str(tag.count), "", "", "", tag.address)
        else:
            mark = "yes" if tag.protected else ""
            cells = ("", tag.number, tag.name, tag.crop, "", "", tag.hardy, mark, tag.licence, "")
        writer.writerow(map(formula_safe, cells))
    return buffer.getvalue()


def tags_text(tags: Sequence[BagTag | BuyerTag]) -> str:
    """A few lines a tag, an empty line between two."""
    return "\n\n".join([HEAD, *("\n".join(filter(None, tag_lines(tag))) for tag in tags)]) + "\n"


def tag_lines(tag: BagTag | BuyerTag) -> tuple[str, ...]:
    """A tag's lines, the first the large one."""
    if isinstance(tag, BagTag):
        return tag.lot, f"{tag.since} {day(tag.day)} {tag.day.year} ({tag.count})", tag.address
    return f"{tag.number} {tag.name}".rstrip(), tag.crop, tag.hardy, protected_words(tag)
