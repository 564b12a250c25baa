"""Write a picture: takes drawings and a file, whose ending says the kind; gives the file whole or not at all."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path

from almanac.disk import write_whole
from almanac.faults import Fact, Refusal
from almanac.pictures.drawing import Drawing
from almanac.pictures.paper import Progress, pdf, png
from almanac.pictures.svg import svg

Kinds = Sequence[str]


def kind_of(file: Path, kinds: Kinds, like: str) -> str:
    """The ending of a file, where it is one of these.

    Raises:
        Refusal: it is another, a folder stands there, or that which it is to stand in does not
    """
    ending = file.suffix.lower()
    if ending not in kinds:
        raise Refusal(Fact("not_drawn_as", file=file, kinds=tuple(kinds), like=like))
    if file.is_dir():
        raise Refusal(Fact("file_is_folder", file=file))
    if not file.parent.is_dir():
        raise Refusal(Fact("no_parent", folder=file.parent))
    return ending


def write_picture(
    file: Path,
    made: date,
    like: str,
    long: Callable[[], Drawing],
    sheets: Callable[[], Sequence[Drawing]] | None = None,
    progress: Progress | None = None,
) -> None:
    """Write a picture as `.svg`, `.pdf` or `.png`.

    Args:
        file: where to
        made: the day it is of
        like: the name of a file of this kind, for who names another
        long: the picture as one sheet
        sheets: the same as pages, for a PDF; else the one sheet
        progress: called after each page
    Raises:
        Refusal: another ending, or the libraries are not there
    """
    ending = kind_of(file, (".svg", ".pdf", ".png"), like)
    if ending == ".svg":
        data = svg(long()).encode("utf-8")
    elif ending == ".png":
        data = png(long(), made)
    else:
        data = pdf(sheets() if sheets else [long()], made, progress)
    write_whole(file, data)


def write_paper(file: Path, pages: Sequence[Drawing], made: date, progress: Progress | None = None) -> None:
    """Write pages as a PDF.

    Raises:
        Refusal: the libraries are not there
    """
    write_whole(file, pdf(pages, made, progress))
