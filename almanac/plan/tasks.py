"""From lots, their milestones and the rules to all tasks and looks, before they are gathered into rounds. Pure."""

from __future__ import annotations

from almanac.plan.lot_tasks import add_for_lot
from almanac.plan.model import Look, Task
from almanac.plan.other_tasks import add_for_bin, for_crops, for_planned
from almanac.plan.scene import Scene
from almanac.plan.settle import grouped, settled, worth_telling


def tasks_and_looks(scene: Scene) -> tuple[list[Task], list[Look]]:
    """Every task and every look of a nursery, lots in bench order."""
    tasks: list[Task] = []
    looks: list[Look] = []
    for lot in scene.open_lots():
        for rule in scene.around.book.tasks_for(lot.method, lot.crop):
            if rule.scope == "lot" and rule.after != "planned":
                add_for_lot(scene, lot, rule, tasks, looks)
    rules = [rule for rule, _ in scene.around.book.tasks().values()]
    for rule in rules:
        if rule.scope == "bin":
            for name in scene.stock.bins:
                add_for_bin(scene, name, rule, tasks, looks)
        elif rule.scope == "crop":
            tasks += for_crops(scene, rule)
        elif rule.after == "planned":
            tasks += [for_planned(scene, planned, rule) for planned in scene.stock.planned]
    told = [task for task in grouped(tasks, scene.stock.lots) if worth_telling(task, scene.as_of)]
    return [settled(task, scene) for task in told], looks
