"""What the law says of a parcel, in words: what is forbidden, what goes only with which paper; always to ask. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Final

from almanac.nursery.orders import Order
from almanac.rulebook.law import Law
from almanac.words.sentences import Sentence, capital, listed

ASK: Final = "Ask the plant health office at both ends."


def law_in_short(laws: Sequence[Law]) -> str:
    """Where none may go, and where only with a paper, as a sentence or two; empty where no law is known."""
    told = []
    for (ruling, paper), same in groupby(sorted(laws, key=_kind), key=_kind):
        places = listed(dict.fromkeys(law.where for law in same))
        if ruling == 0:
            told.append(f"by law none goes to or from {places}")
        elif ruling == 1:
            told.append(f"to {places} only with a {paper}")
        else:
            told.append(f"{paper} asked for: {places}")
    text = "; ".join(told)
    return f"{capital(text)}. {ASK}" if text else ""


def _kind(law: Law) -> tuple[int, str]:
    return ("forbidden", "permit", "papers").index(law.ruling), law.paper if law.ruling != "forbidden" else ""


def law_in_full(laws: Iterable[Law]) -> list[str]:
    """Each law's whole text with the year that was read; after them, whom to ask."""
    texts = [f"{law.text}{f' (As of {law.year}.)' if law.year else ''}" for law in laws]
    return [*texts, ASK] if texts else []


def law_of_order(order: Order, laws: Sequence[Law]) -> str:
    """What holds for an order's parcel; where nobody has said where it goes, to say so; empty for neither."""
    if not laws or not order.open:
        return ""
    if order.country.strip() or order.region.strip():
        return " ".join(law_in_full(laws))
    return f"No place is noted for it. {law_in_short(laws)}"


_NEEDS_PAPER: Final = (
    "{text} Without the number of a {paper} nothing goes to {where}: ask the plant health office, then write it into "
    "the order's note"
)
NEEDS_PAPER_ON_PAGE: Final = _NEEDS_PAPER + " in orders.csv"  # also of an order that was taken already
SENTENCES: Final[dict[str, Sentence]] = {
    "unlawful": "{text} Nothing was promised or sent there; ask the plant health office at both ends",
    "needs_paper": _NEEDS_PAPER + ', as --note "{paper} 1234"',
    "needs_paper_of_order": NEEDS_PAPER_ON_PAGE,
}
