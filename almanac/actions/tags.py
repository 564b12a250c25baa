"""From a nursery's lots to tags on pages or as text: takes what is asked for, gives what a file holds."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from almanac.actions.draw import kind_of, write_paper
from almanac.actions.look import Reading
from almanac.disk import write_whole
from almanac.faults import Fact, Refusal, nearest
from almanac.nursery.lots import Lot
from almanac.nursery.nursery import Nursery
from almanac.pictures.paper import Progress
from almanac.pictures.tag_rows import (
    COLUMNS,
    HEAD,
    BagTag,
    BuyerTag,
    bag_tags,
    buyer_tags,
    tags_csv,
    tags_text,
    without_licence,
)
from almanac.pictures.tags import Labels, known_labels, roll, scale_page, tag_pages

KINDS = (".pdf", ".csv", ".txt")
_USUAL = {"us": "letter-67x25", "metric": "a4-64x38"}


def labels_named(name: str | None, size: tuple[float, float] | None, units: str) -> Labels:
    """The labels of a name, of a roll's size [mm], or the usual sheet of the nursery's paper. Raises Refusal."""
    if size is not None:
        found = roll(*size)
        if found is None:
            raise Refusal(Fact("label_size", wide=size[0], high=size[1]))
        return found
    known = known_labels()
    name = name or _USUAL[units]
    if name not in known:
        raise Refusal(Fact("label_unknown", name=name, near=nearest(name, known)))
    return known[name]


def lots_named(nursery: Nursery, names: Sequence[str]) -> list[Lot]:
    """The lots of these names, or all that are open. Raises Refusal: one is not there, or there is none."""
    every = nursery.stock.lots
    for name in names:
        if name.lower() not in every:
            raise Refusal(Fact("lot_unknown", name=name, near=nearest(name, every)))
    found = [every[name.lower()] for name in names] or [lot for lot in every.values() if not lot.closed]
    if not found:
        raise Refusal(Fact("no_lots_to_tag"))
    return found


def tags_for(
    reading: Reading, lots: Sequence[Lot], *, buyers: bool, each: bool, page: str = ""
) -> tuple[list[BagTag | BuyerTag], list[Fact]]:
    """The tags of these lots, and what to tell of those left out.

    Args:
        reading: the nursery and the calendar it published
        lots: those to be labelled
        buyers: for plants that leave, not for bags
        each: one for each cutting
        page: the address of the bench page; else that of the settings, or the one last served
    Raises:
        Refusal: none is left
    """
    nursery = reading.nursery
    if not buyers:
        address = page or nursery.settings.calendar.page or reading.previous.page
        told = [] if address else [Fact("no_page_for_codes")]
        return list(bag_tags(lots, _with_slash(address), each=each)), told
    left_out = without_licence(lots, nursery)
    tags = list(buyer_tags(lots, nursery, each=each))
    if not tags:
        raise Refusal(Fact("all_protected", numbers=tuple(left_out)))
    return list(tags), [Fact("tags_left_out", numbers=tuple(left_out))] if left_out else []


def _with_slash(address: str) -> str:
    return address if not address or address[-1] == "/" else f"{address}/"


def write_tags(
    file: Path,
    tags: Sequence[BagTag | BuyerTag],
    labels: Labels,
    nursery: Nursery,
    *,
    skip: int = 0,
    trim: bool = False,
    progress: Progress | None = None,
) -> None:
    """Write tags as pages, as a table or as text.

    Raises:
        Refusal: another ending; a table or text stands there that is none of ours; the libraries are not there
    """
    ending = kind_of(file, KINDS, "tags.pdf")
    if ending == ".pdf":
        title = f"{nursery.name}: tags"
        write_paper(file, tag_pages(tags, labels, title, skip=skip, trim=trim), nursery.as_of, progress)
        return
    mark = ",".join(COLUMNS) if ending == ".csv" else HEAD
    if file.exists() and file.read_bytes()[: len(mark)] != mark.encode():
        raise Refusal(Fact("not_tags", file=file))
    write_whole(file, (tags_csv(tags) if ending == ".csv" else tags_text(tags)).encode("utf-8"))


def write_scale(file: Path, labels: Labels, nursery: Nursery) -> None:
    """Write the page that shows whether a printer keeps the scale. Raises Refusal."""
    kind_of(file, (".pdf",), "test.pdf")
    write_paper(file, [scale_page(labels, f"Test page, {labels.name}")], nursery.as_of)
