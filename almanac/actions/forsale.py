"""From a nursery's folder to what it has to sell, and to the lists for buyers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from almanac.disk import write_whole
from almanac.faults import Fact, Refusal
from almanac.nursery.load import load_nursery
from almanac.nursery.nursery import Nursery
from almanac.pictures.sale_list import COLUMNS, MARK, sale_csv, sale_page
from almanac.plan.wood.forsale import Offer, offers


@dataclass(frozen=True)
class Found:
    """What a nursery has to sell."""

    nursery: Nursery
    offers: tuple[Offer, ...]


def for_sale(folder: Path, now: datetime, as_of: date | None = None) -> Found:
    """Read and count; write nothing.

    Raises:
        InputFaults, Refusal: as `load_nursery`
    """
    nursery = load_nursery(folder, now, as_of)
    return Found(nursery, offers(nursery))


def list_of(found: Found, ending: str) -> str:
    """The list for buyers as a table (`csv`) or as a page (`html`)."""
    titles = {name: crop.title for name, crop in found.nursery.book.crops.items()}
    as_of = found.nursery.as_of
    if ending == "csv":
        return sale_csv(found.offers, titles, as_of)
    return sale_page(found.offers, titles, found.nursery.settings.nursery.name, as_of)


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
