"""What open bags ask for where potting slips: to be lifted at every round, and less warmth. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import timedelta

from almanac.forecast.thermal import rate
from almanac.nursery.lots import Lot
from almanac.plan.care.programmes.weaning.derivation import OffMat
from almanac.plan.care.programmes.weaning.vents import bags_of
from almanac.plan.context.day import Context
from almanac.plan.context.tasks import lot_look, lot_task
from almanac.plan.model import Look, Task
from almanac.rulebook.programmes.weaning import STEPS, Weaning


def weight_looks(context: Context, lot: Lot, rules: Weaning, in_bag: Sequence[Task]) -> Iterator[Look]:
    """Open bags that wait for their pots are lifted at every round; where steps are not logged, as planned."""
    least = bags_of(lot, rules)
    opened = least[0].since if least and least[0].done == STEPS else None
    if opened is None and in_bag and in_bag[-1].due < context.as_of and not in_bag[-1].guessed:
        opened = in_bag[-1].due
    potted = context.found(lot, "rooting").get("potted")
    if opened is None or potted is None or potted.days is None:
        return
    rule, end = context.book.task("open_weight"), max(potted.days[1], opened)
    yield lot_look(context, lot, rule, opened, end, "opened", bin_name=lot.bin, count=lot.count("rooting"))


def off_mat(context: Context, lot: Lot, rules: Weaning, taken: dict[str, int]) -> Iterator[Task]:
    """Open bags with roots through off the mat where potting slips: into a cooler bin with room, else beside it.

    Before that the warmth hastens their roots, and so their potting.
    """
    log, least = context.stock.bins.get(lot.bin), bags_of(lot, rules)
    ready = context.found(lot, "rooting").get("well_rooted")
    if log is None or least is None or least[0].done < STEPS or ready is None or ready.known is None:
        return
    if ready.showing and ready.showing.count < lot.count("rooting"):
        return
    assert least[0].since is not None
    slips = timedelta(days=context.book.task("pot_up").due_day or 0)
    day = max(least[0].since, ready.known + slips)
    moved = len(lot.places) > 1 and lot.places[-1][0] >= ready.known
    base_c = log.base_c[-1][1]
    if moved or base_c - log.air_c[-1][1] < rules.cooler:
        return
    place = _cooler_bin(context, lot, base_c - rules.cooler, taken)
    derivation = OffMat(base_c=base_c, counted_from=day)
    if place:
        name, bin_c, free = place
        derivation = replace(derivation, bin=name, bin_c=bin_c, free=free)
        taken[name] = taken.get(name, 0) + lot.count("rooting")
    yield lot_task(
        lot,
        context.book.task("cool_bin" if place else "off_mat"),
        (day, day, day + timedelta(days=rules.off_mat_within)),
        ready.name,
        ready.known,
        milestone=ready,
        bin_name=lot.bin,
        count=lot.count("rooting"),
        derivation=derivation,
    )


def _cooler_bin(context: Context, lot: Lot, at_most_c: float, taken: dict[str, int]) -> tuple[str, float, int] | None:
    """The coolest bin in which the crop still grows that has room for a lot: its name, its base [°C], places free."""
    warmth, count = context.book.crops[lot.crop].base, lot.count("rooting")
    found = []
    for item in context.around.settings.places:
        base_c = context.stock.bins[item.name].base_c[-1][1]
        free = item.bags - context.bags.get(item.name, 0) - taken.get(item.name, 0)
        if item.kind == "bin" and base_c <= at_most_c and free >= count and rate(warmth, base_c) > 0:
            found.append((base_c, item.name, free))
    if not found:
        return None
    base_c, name, free = min(found)
    return name, base_c, free
