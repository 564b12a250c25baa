"""Whatever one rule document says of another, held against it: names, milestones in their chains, days, programmes."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from almanac.faults import Fact, Fault, nearest
from almanac.rulebook.book import CROP_VALUES, VALUE, Rulebook
from almanac.rulebook.changes import name_of
from almanac.rulebook.document import Document, items_of
from almanac.rulebook.models import LOT_DAYS, SEASON_DAYS, SITE_DAYS, Care, Crop, Method, MilestoneRule
from almanac.rulebook.programmes import NUMBERS
from almanac.rulebook.supplies import supplies_wrong
from almanac.rulebook.toml_text import Loc, leaves


def disagreements(book: Rulebook, documents: dict[str, Document], events: Collection[str]) -> list[Fault]:
    """Whatever one document says of another: sources, cautions, milestones, methods, double ids."""
    known = names_known(book, events)
    faults = []
    seen: dict[str, str] = {}
    for document in documents.values():
        for loc, value in leaves(document.data):
            column = str(next((part for part in reversed(loc) if isinstance(part, str)), ""))
            if column in known and isinstance(value, str) and value not in known[column]:
                fact = Fact("named_nowhere", name=value, of=column, near=nearest(value, known[column]))
                faults.append(document.fault(loc, fact))
            if loc[-1] == "log" and value and value.split()[1] not in events:
                what = value.split()[1]
                faults.append(document.fault(loc, Fact("log_of_no_event", what=what, near=nearest(what, events))))
            if loc[0] == "task" and loc[2] in ("title", "short", "how", "checklist"):
                faults += [document.fault(loc, fact) for fact in _values_wrong(value, document, loc)]
        for number, task in enumerate(document.data.get("task", [])):
            if task["id"] in seen:
                fact = Fact("task_elsewhere", task=task["id"], file=seen[task["id"]])
                faults.append(document.fault(("task", number, "id"), fact))
            seen[task["id"]] = document.file
            if wrong := _season_wrong(task):
                faults.append(document.fault(("task", number, "after"), wrong))
        faults += _programme_wrong(document)
        faults += _methods_wrong(document, book)
    document = documents["supplies"]
    faults += [document.fault(loc, fact) for loc, fact in supplies_wrong(book.supplies, document.data)]
    return faults or _chains_wrong(book, documents)


def _methods_wrong(document: Document, book: Rulebook) -> list[Fault]:
    """What a crop says of a method that there is not, or does not say of one in beds."""
    found = book.crops.get(str(document.data.get("id"))) if document.model is Crop else None
    if found is None:
        return []
    faults = [
        document.fault(
            ("method", name), Fact("named_nowhere", name=name, of="methods", near=nearest(name, book.methods))
        )
        for name in found.method
        if name not in book.methods
    ]
    in_beds = [name for name in found.methods if name in book.methods and book.methods[name].place == "bed"]
    return faults + [
        Fault(file=document.file, fact=Fact("no_ground", method=name), key="method")
        for name in in_beds
        if name not in found.method or found.method[name].ground is None
    ]


def names_known(book: Rulebook, events: Collection[str]) -> dict[str, Collection[str]]:
    """What may be named under a key of a rule file, by the key."""
    holders: list[Method | Care] = [*book.methods.values(), *book.cares.values()]
    milestones = {rule.name for holder in holders for rule in holder.milestone}
    counted_from = {*milestones, *events, *SITE_DAYS, *LOT_DAYS, *SEASON_DAYS}
    return {
        "source": book.sources,
        "taking_source": book.sources,
        "cautions": book.cautions,
        "after": counted_from,
        "until": {*milestones, *events},
        "needs": events,
        "answers": events,
        "without": events,
        "waits_for": book.tasks().keys(),
        "settled_by": {*milestones, *events},
        "methods": book.methods,
        "crops": book.crops,
    }


def _season_wrong(task: dict[str, Any]) -> Fact | None:
    """What is wrong with a task that counts from the nursery's season, or that is of the nursery and does not."""
    of_nursery, of_season = task.get("scope") == "nursery", task["after"] in SEASON_DAYS
    if of_nursery and not of_season and task["after"] not in SITE_DAYS:
        return Fact("day_of_a_lot", after=task["after"], known=(*SEASON_DAYS, *SITE_DAYS))
    if of_season and not of_nursery and not task.get("worked"):
        return Fact("day_of_the_nursery", after=task["after"])
    return None


def _values_wrong(text: str, document: Document, loc: Loc) -> list[Fact]:
    """What is wrong with the values that a task's text names: those of a crop, or of its programme."""
    task = document.data["task"][loc[1]]
    programme = NUMBERS.get(document.name.removeprefix("care/")) if task.get("worked") else None
    own: Collection[str] = programme.values if programme else ()
    of_crop: Collection[str] = CROP_VALUES if loc[2] != "title" else ()
    named = [name for name in VALUE.findall(text) if name not in own]
    if named and of_crop and task.get("scope") == "bin" and not own:
        return [Fact("value_of_crop", value=named[0])]
    if task.get("scope") in ("bin", "nursery"):
        of_crop = ()
    return [
        Fact("no_value", value=name, programme=bool(own), near=nearest(name, [*of_crop, *own]))
        for name in named
        if name not in of_crop
    ]


def _programme_wrong(document: Document) -> list[Fault]:
    """Tasks whose days a programme works out and that its file lacks, or that no programme knows."""
    folder, _, stem = document.name.rpartition("/")
    programme = NUMBERS.get(stem) if folder == "care" else None
    wanted: Collection[str] = programme.tasks if programme else ()
    worked = {task["id"]: number for number, task in enumerate(document.data.get("task", [])) if task.get("worked")}
    faults = [
        document.fault(("task", number, "worked"), Fact("worked_by_none", task=name))
        for name, number in worked.items()
        if name not in wanted
    ]
    lacking = tuple(sorted(set(wanted) - set(worked)))
    return faults + [Fault(file=document.file, fact=Fact("tasks_missing", tasks=lacking))] * bool(lacking)


def _chains_wrong(book: Rulebook, documents: dict[str, Document]) -> list[Fault]:
    """What is wrong with the milestones of a method one after another, and with the durations crops give them."""
    faults: list[Fault] = []
    for method in book.methods:
        crops = [name for name, crop in book.crops.items() if method in crop.methods]
        chain = book.milestones_for(method)
        written = [*book.methods[method].milestone, *(r for care in book.cares.values() for r in care.milestone)]
        names = [rule.name for rule in written]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice and crops:
            fact = Fact("milestone_twice", milestone=twice[0])
            faults.append(Fault(file=documents[f"methods/{method}"].file, fact=fact, key="milestone"))
        elif len(chain) < len(written) and crops:
            fact = Fact("circle", milestones=tuple(_circle([rule for rule in written if rule not in chain])))
            faults.append(Fault(file=documents[f"methods/{method}"].file, fact=fact, key="milestone"))
        for rule in chain:
            faults += _durations_wrong(rule, method, crops, book, documents)
    return list(dict.fromkeys(faults))  # the milestones of care files are those of every method


def _durations_wrong(
    rule: MilestoneRule, method: str, crops: list[str], book: Rulebook, documents: dict[str, Document]
) -> list[Fault]:
    found = {name: book.duration(name, rule, method) for name in crops}
    lacking = [name for name, duration in found.items() if duration is None]
    if len(lacking) == len(crops) > 1:
        document, number = _written(rule.name, documents)
        return [document.fault(("milestone", number), Fact("no_duration_at_all", milestone=rule.name))]
    faults = [
        Fault(
            file=documents[f"crops/{name}"].file,
            fact=_no_duration(rule, book.crops[name], book),
            line=None,
            key="durations",
        )
        for name in lacking
    ]
    if rule.clock != "air":
        fact = Fact("chill_without_air", milestone=rule.name)
        chilled = [documents[f"crops/{name}"] for name, duration in found.items() if duration and duration.chill]
        faults += [document.fault(("durations", rule.name, "chill"), fact) for document in chilled]
    return faults


def _no_duration(rule: MilestoneRule, crop: Crop, book: Rulebook) -> Fact:
    """That a crop has no days to a milestone, told of the first of its methods that needs them."""
    ways = (name for name in crop.methods if name in book.methods)
    needs = (way for way in ways if rule.name in [each.name for each in book.milestones_for(way)])
    return Fact("no_duration", milestone=rule.name, method=next(needs, ""))


def _written(milestone: str, documents: dict[str, Document]) -> tuple[Document, int]:
    """The document a milestone stands in, and its place there."""
    return next(
        (document, number)
        for document in documents.values()
        for number, item in enumerate(items_of(document.data, "milestone"))
        if name_of(item) == milestone
    )


def _circle(rules: list[MilestoneRule]) -> list[str]:
    """Of milestones that wait for one another, those in the circle: without what merely waits behind it."""
    left = {rule.name: set(rule.after) for rule in rules}
    while behind := left.keys() - set().union(*left.values()):
        left = {name: after for name, after in left.items() if name not in behind}
    return sorted(left)
