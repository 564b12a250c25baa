"""The id of a calendar's entry or of one line of it: a value with its parts, and the one place where text is read.

It is the text itself, which stands in calendars, commands and addresses and never changes, and it knows its parts. Who
makes one gives the parts; `parse` finds them in a text that comes from outside: one that a grower typed, the previous
feed, an address. A bin, a crop and a row that plans a lot look alike there, so what they are is not told by an id.
"""

from __future__ import annotations

import re
from datetime import date
from typing import Final, Literal, Self

from almanac.nursery.logbook import LOT_ID
from almanac.nursery.order_rows import ORDER_ID

Kind = Literal["task", "round", "order", "room", "empty"]
ROOMS: Final = ("bin_full", "lamps_full", "outside_full", "shelter_full")
_AGAIN = re.compile(r"(.*)~([2-9]|[1-9][0-9]+)", re.DOTALL)
_RULE = re.compile(r"[a-z][a-z0-9_]*")


class EntryId(str):
    """What an entry is about and why it is there.

    kind: `task` (also a look, a milestone), `round`, `order`, `room` (a lack of it) or `empty` (a feed without entries)
    about: a lot (`7a.pot_up`), bin, crop, planning row, order, feed or day; empty where it is of the whole nursery
    rule: what is to be done of it; of a milestone its name
    step: which of several of that rule: a winter, a number, a day
    lot: of an entry that lots share and that is named after one of them, that lot (`fig.pot_up.7a`)
    turn: 1, or the how-manieth of its name, where those before it are over (`7a.pot_up~2`)
    """

    __slots__ = ("about", "kind", "lot", "rule", "step", "turn")
    about: str
    kind: Kind
    lot: str
    rule: str
    step: str
    turn: int

    def __new__(
        cls, about: str, rule: str = "", step: object = "", lot: str = "", *, turn: int = 1, kind: Kind = "task"
    ) -> Self:
        head = {"round": "round", "order": "order"}.get(kind, "")
        parts = (head, about, rule, f"{step}", lot)
        again = f"~{turn}" if turn > 1 else ""
        made = super().__new__(cls, ".".join(filter(None, parts)) + again)
        made.about, made.rule, made.step, made.lot, made.turn, made.kind = about, rule, f"{step}", lot, turn, kind
        return made

    @classmethod
    def of_round(cls, day: date) -> Self:
        return cls(day.isoformat(), kind="round")

    @classmethod
    def of_order(cls, order: str) -> Self:
        return cls(order, kind="order")

    @classmethod
    def of_room(cls, lacking: str, bin_name: str = "") -> Self:
        return cls(bin_name, lacking, kind="room")

    @classmethod
    def of_empty(cls, feed: str) -> Self:
        return cls(feed, "nothing", kind="empty")

    def at(self, step: object) -> Self:
        """The same of one more step."""
        step = ".".join(filter(None, (self.step, f"{step}")))
        return type(self)(self.about, self.rule, step, self.lot, turn=self.turn, kind=self.kind)

    def again(self, turn: int) -> Self:
        """The same for the second time, the third, …"""
        return type(self)(self.about, self.rule, self.step, self.lot, turn=turn, kind=self.kind)

    @property
    def of_lot(self) -> str:
        """The lot that it is about or named after; empty where it names none."""
        about_a_lot = self.kind == "task" and LOT_ID.fullmatch(self.about)
        return self.about if about_a_lot else self.lot

    def __reduce__(self) -> tuple[object, ...]:
        return parse, (str(self),)


def parse(text: str) -> EntryId:
    """The id that a text is, whatever it is: `str(parse(text)) == text`."""
    again = _AGAIN.fullmatch(text)
    found = _first(again[1] if again else text)
    return found.again(int(again[2])) if again else found


def _first(text: str) -> EntryId:
    about, *rest = text.split(".")
    if "" in (about, *rest) or (not rest and about not in ROOMS):
        return EntryId("", text)  # none of ours
    if rest == ["nothing"] and about in ("bench", "seasons", "sales"):
        return EntryId.of_empty(about)
    if not rest:
        return EntryId.of_room(about)
    if len(rest) == 1 and rest[0] in ROOMS:
        return EntryId.of_room(rest[0], about)
    if about == "round" and len(rest) == 1 and _is_day(rest[0]):
        return EntryId(rest[0], kind="round")
    if about == "order" and len(rest) == 1 and ORDER_ID.fullmatch(rest[0]):
        return EntryId.of_order(rest[0])
    if not _RULE.fullmatch(rest[0]):
        if len(rest) == 1 or not _RULE.fullmatch(rest[1]):
            return EntryId("", about, ".".join(rest))
        about, rest = f"{about}.{rest[0]}", rest[1:]  # rows logged at once have a number after their name
    rule, *steps = rest
    lot = steps.pop() if steps and LOT_ID.fullmatch(steps[-1]) else ""
    return EntryId(about, rule, ".".join(steps), lot)


def _is_day(text: str) -> bool:
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False
