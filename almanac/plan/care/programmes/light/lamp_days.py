"""What a bin's lamp goes by: which of its lots are in leaf when, with roots when, and what was logged of it. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from almanac.forecast.model import Milestone, each_of, later
from almanac.nursery.lots import Lot
from almanac.plain import dataclass
from almanac.plan.context.day import LOOKS_GO_ON, Anchor, Context


@dataclass(frozen=True, kw_only=True)
class InLeaf:
    """A lot's time in leaf in a bin: from when, with roots from when (None: not known), until it is likely potted."""

    lot: Lot
    leaf: Anchor
    rooted: Anchor | None
    until: date

    def there(self, day: date) -> bool:
        """Whether it stands there in leaf."""
        return self.leaf.days[1] <= day < self.until

    def has_roots(self, day: date) -> bool:
        """Whether it stands there in leaf and with roots."""
        return self.rooted is not None and self.rooted.days[1] <= day < self.until


def in_leaf(context: Context, bin_name: str, settle: timedelta) -> list[InLeaf]:
    """The lots of a bin that are or will be in leaf there, the first first.

    Roots that nobody has seen yet count no sooner than `settle` after the leaves, however likely they are.
    """
    found = [each for lot in context.open_lots(bin_name) if (each := _in_leaf(context, lot, settle))]
    return sorted(found, key=lambda each: (each.leaf.days[1], each.leaf.days, each.lot.id))


def _in_leaf(context: Context, lot: Lot, settle: timedelta) -> InLeaf | None:
    milestones = context.found(lot, "rooting")
    leaf = _from_arrival(_anchor(milestones.get("leaves"), lot), lot)
    if leaf is None:
        return None
    roots = _anchor(milestones.get("roots"), lot)
    if roots and not roots.known:
        roots = not_before(roots, leaf.days[1] + settle)
    potted = milestones.get("potted")
    until = max(lot.known_at, leaf.days[1]) + LOOKS_GO_ON
    if potted and potted.known is None and potted.days:
        until = potted.days[1]
    return InLeaf(lot=lot, leaf=leaf, rooted=_later(leaf, roots) if roots else None, until=until)


def _anchor(milestone: Milestone | None, lot: Lot) -> Anchor | None:
    if milestone is None or milestone.window is None or milestone.overdue(lot.known_at):
        return None
    return Anchor(milestone.name, milestone.window, milestone)


def _from_arrival(leaf: Anchor | None, lot: Lot) -> Anchor | None:
    """Of a lot moved in while in leaf, the day it came."""
    came = lot.places[-1][0]
    return Anchor.on("moved", came) if leaf and leaf.known and leaf.days[1] < came else leaf


def _later(leaf: Anchor, roots: Anchor) -> Anchor:
    """When both have come; named by the one that comes last."""
    last = roots if roots.days[1] >= leaf.days[1] else leaf
    return Anchor(last.name, later(leaf.days, roots.days), last.milestone)


def not_before(anchor: Anchor, day: date) -> Anchor:
    """The same, waiting for a day."""
    return Anchor(anchor.name, each_of(anchor.days, lambda each: max(each, day)), anchor.milestone)


def logged(context: Context, bin_name: str) -> tuple[date, float] | None:
    """The day and the hours that its lamp was last set to, 0 for off; None where lots long gone were under it."""
    rows = context.stock.bins[bin_name].lamp_h
    lots = context.stood_in.get(bin_name, ())
    return rows[-1] if rows and rows[-1][0] >= _filled_since(bin_name, lots, context.as_of) else None


def _filled_since(bin_name: str, lots: Sequence[Lot], as_of: date) -> date:
    """Since when the bin has not stood empty."""
    stays = sorted((stay for lot in lots for stay in _stays(lot, bin_name, as_of)), key=lambda stay: stay[1])
    since = as_of
    for came, left in reversed(stays):
        if left >= since:
            since = min(since, came)
    return since


def _stays(lot: Lot, bin_name: str, as_of: date) -> list[tuple[date, date]]:
    """When a lot came into a bin, and when it left it."""
    gone = as_of if lot.count("rooting") else lot.steps.get("potted", lot.known_at)
    ends = [day for day, _ in lot.places[1:]] + [gone]
    return [(day, end) for (day, name), end in zip(lot.places, ends, strict=True) if name == bin_name]
