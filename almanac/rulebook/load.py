"""From the shipped rule files, then a nursery's own over them, to one rulebook and every fault found in them.

Read once while the files stay the same: the server would read them at every row and every request. What came of them
is kept from run to run (`kept_tables`).
"""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable
from functools import lru_cache
from pathlib import Path
from typing import Any

from almanac.faults import Fact, Fault, as_found, nearest
from almanac.plain import dataclass
from almanac.rulebook import kept_tables
from almanac.rulebook.book import CROP_VALUES, VALUE, Rulebook
from almanac.rulebook.changes import Change, changes, merged, name_of, with_own_source
from almanac.rulebook.fields import Table
from almanac.rulebook.files import RuleFile, own_files, rule_files
from almanac.rulebook.law import Laws
from almanac.rulebook.models import (
    LOT_DAYS,
    SEASON_DAYS,
    SITE_DAYS,
    Care,
    Cautions,
    Crop,
    Method,
    MilestoneRule,
    Sources,
    care_model,
)
from almanac.rulebook.programmes import NUMBERS
from almanac.rulebook.shipped import shipped
from almanac.rulebook.supplies import Supplies, supplies_wrong
from almanac.rulebook.toml_text import Loc, key_in_words, leaves, line_of, read_toml, too_large

FOLDERS: dict[str, type[Table]] = {"crops": Crop, "methods": Method, "care": Care}
SINGLES: dict[str, type[Table]] = {"sources": Sources, "cautions": Cautions, "supplies": Supplies, "law": Laws}


@dataclass(kw_only=True)
class _Document:
    """One rule document as read: the shipped file, with the nursery's own file of the same name merged over it.

    `file`, `text` and `own` are those of the upper file, `data` is the whole.
    """

    name: str
    model: type[Table]
    file: str
    text: str
    own: dict[str, Any]
    data: dict[str, Any]
    files: tuple[str, ...]
    changes: tuple[Change, ...] = ()

    def line(self, loc: Loc) -> int | None:
        """The line of a key of the whole document in the upper file, where it stands there."""
        if len(loc) > 1 and isinstance(loc[1], int) and self.own is not self.data:
            names = [name_of(item) for item in _items(self.own, loc[0])]
            name = name_of(_items(self.data, loc[0])[loc[1]])
            if name not in names:
                return None
            loc = (loc[0], names.index(name), *loc[2:])
        return line_of(self.text, loc)


def shipped_rules() -> Path:
    """The folder of shipped rule files."""
    return shipped("rules")


def load_rules(
    own: Path | None, events: Collection[str], extra: Path | None = None
) -> tuple[Rulebook | None, list[Fault]]:
    """Read all rule files.

    Args:
        own: the nursery's own rules folder, if there is one
        events: the names of all events that may be logged, which rules may count from
        extra: one more file, taken as if it stood in the nursery's own folder
    Returns:
        the rulebook, None where a document could not be understood; and every fault
    """
    own = own if own and own.is_dir() else None
    if extra is not None:
        there = extra.is_file()
        same = [path for path in own_files(own).values() if there and path.samefile(extra)] if own else []
        return _load(own, events, extra, same)
    book, faults = _loaded(own, frozenset(events), _marks(shipped_rules()), _marks(own))
    return book, list(faults)


def _marks(root: Path | None) -> tuple[tuple[str, int, int], ...]:
    """What a change of the files below a folder shows in."""
    for _ in os.walk(root, onerror=_raise) if root else ():
        pass  # `rglob` passes over a folder that may not be read
    paths = sorted(root.rglob("*.toml")) if root and root.is_dir() else []
    return tuple((str(path), stat.st_mtime_ns, stat.st_size) for path in paths for stat in (path.stat(),))


def _raise(error: OSError) -> None:
    raise error


@lru_cache(maxsize=4)
def _loaded(
    own: Path | None, events: frozenset[str], shipped_marks: object, own_marks: object
) -> tuple[Rulebook | None, tuple[Fault, ...]]:
    """The rules as read last, while no file is another: a server asks for them after each row that is logged."""
    book, faults = _load(own, events, None)
    return book, tuple(faults)


def load_without(own: Path, events: Collection[str], left_out: Collection[Path]) -> tuple[Rulebook | None, list[Fault]]:
    """The same without some of the nursery's own files."""
    return _load(own, events, None, left_out)


def _load(
    own: Path | None, events: Collection[str], extra: Path | None, left_out: Collection[Path] = ()
) -> tuple[Rulebook | None, list[Fault]]:
    files = list(rule_files(own, extra, left_out, FOLDERS))
    place = kept_tables.place_of(f"rulebook {sorted(events)}", [file.read for file in files])
    whole = extra is None and all(file.data is not None for file in files)
    before = kept_tables.found(place, Rulebook) if whole else None
    if before is not None:
        return before, []
    book, faults = _book_of(files, events)
    if whole and book and not faults:
        kept_tables.keep(place, book)
    return book, faults


def _book_of(files: Iterable[RuleFile], events: Collection[str]) -> tuple[Rulebook | None, list[Fault]]:
    from almanac.rulebook.checked import checked, faults_of  # a third of a command that meets only files seen before

    faults: list[Fault] = []
    documents: dict[str, _Document] = {}
    for file in files:
        _read_into(documents, file, faults)
    models: dict[str, dict[str, Any]] = {folder: {} for folder in (*FOLDERS, *SINGLES)}
    for document in documents.values():
        model, slips = checked(document.model, document.data)
        if model is None:
            faults += faults_of(slips, document.file, "", document.data, document.line)
            continue
        faults += too_large(document.file, document.data, document.line)
        folder, _, stem = document.name.rpartition("/")
        models[folder or stem][stem] = model
    if faults:
        return None, faults
    book = Rulebook(
        crops=models["crops"],
        methods=models["methods"],
        cares=models["care"],
        sources=models["sources"]["sources"].source,
        cautions=models["cautions"]["cautions"].caution,
        closing=models["cautions"]["cautions"].closing,
        supplies=models["supplies"]["supplies"],
        laws=models["law"]["law"].law,
        files={name: document.files for name, document in documents.items()},
        changes=tuple(change for document in documents.values() for change in document.changes),
    )
    return book, _cross_check(book, documents, events)


def _read_into(documents: dict[str, _Document], written: RuleFile, faults: list[Fault]) -> None:
    file, relative = written.shown, written.relative
    name = relative.with_suffix("").as_posix()
    folder = relative.parent.as_posix()
    model = FOLDERS.get(folder) or (SINGLES.get(name) if folder == "." else None)
    if model is Care:
        model = care_model(relative.stem)
    if model is None:
        faults.append(Fault(file=file, fact=Fact("misplaced", folders=tuple(FOLDERS), names=tuple(SINGLES))))
        return
    text, own, found = read_toml(written.path.read_bytes() if written.data is None else written.data, file)
    if own is not None and folder != "." and own.setdefault("id", relative.stem) != relative.stem:
        fact = Fact("other_id", given=as_found(own["id"]), name=relative.stem)
        found.append(Fault(file=file, fact=fact, line=line_of(text, ("id",)), key="id"))
    if own is not None:
        found += _named_twice(file, text, own)
    if own is None or found:
        faults += found
        return
    below = documents.get(name)
    found_there, made = (below.files, below.changes) if below else ((), ())
    if not written.ships:
        own = with_own_source(below.data, own) if below else own
        made = (*made, *changes(file, name, below.data if below else None, own))
    data = merged(below.data, own) if below else own
    documents[name] = _Document(
        name=name, model=model, file=file, text=text, own=own, data=data, files=(*found_there, file), changes=made
    )


def _named_twice(file: str, text: str, own: dict[str, Any]) -> list[Fault]:
    """Tasks and milestones that stand twice in one file: merged by name, one would be lost without a word."""
    faults = []
    for key, label in (("task", "id"), ("milestone", "name")):
        names = [name_of(item) for item in _items(own, key)]
        for number, name in enumerate(names):
            if name and name in names[:number]:
                fact, line = Fact("named_twice", name=name, label=label), line_of(text, (key, number, label))
                faults.append(Fault(file=file, fact=fact, line=line, key=f"{key} {number + 1}, {label}"))
    return faults


def _items(document: dict[str, Any], key: int | str) -> list[Any]:
    found = document.get(str(key))
    return found if isinstance(found, list) else []


def _cross_check(book: Rulebook, documents: dict[str, _Document], events: Collection[str]) -> list[Fault]:
    """Whatever one document says of another: sources, cautions, milestones, methods, double ids."""
    known = names_known(book, events)
    faults = []
    seen: dict[str, str] = {}
    for document in documents.values():
        for loc, value in leaves(document.data):
            column = str(next((part for part in reversed(loc) if isinstance(part, str)), ""))
            if column in known and isinstance(value, str) and value not in known[column]:
                fact = Fact("named_nowhere", name=value, of=column, near=nearest(value, known[column]))
                faults.append(_at(document, loc, fact))
            if loc[-1] == "log" and value and value.split()[1] not in events:
                what = value.split()[1]
                faults.append(_at(document, loc, Fact("log_of_no_event", what=what, near=nearest(what, events))))
            if loc[0] == "task" and loc[2] in ("title", "short", "how", "checklist"):
                faults += [_at(document, loc, fact) for fact in _values_wrong(value, document, loc)]
        for number, task in enumerate(document.data.get("task", [])):
            if task["id"] in seen:
                fact = Fact("task_elsewhere", task=task["id"], file=seen[task["id"]])
                faults.append(_at(document, ("task", number, "id"), fact))
            seen[task["id"]] = document.file
            if wrong := _season_wrong(task):
                faults.append(_at(document, ("task", number, "after"), wrong))
        faults += _programme_wrong(document)
        faults += _methods_wrong(document, book)
    document = documents["supplies"]
    faults += [_at(document, loc, fact) for loc, fact in supplies_wrong(book.supplies, document.data)]
    return faults or _chains_wrong(book, documents)


def _methods_wrong(document: _Document, book: Rulebook) -> list[Fault]:
    """What a crop says of a method that there is not, or does not say of one in beds."""
    found = book.crops.get(str(document.data.get("id"))) if document.model is Crop else None
    if found is None:
        return []
    unknown = [name for name in found.method if name not in book.methods]
    faults = [_at(document, ("method", name), _no_method(name, book)) for name in unknown]
    in_beds = [name for name in found.methods if name in book.methods and book.methods[name].place == "bed"]
    return faults + [
        Fault(file=document.file, fact=Fact("no_ground", method=name), line=None, key="method")
        for name in in_beds
        if name not in found.method or found.method[name].ground is None
    ]


def _no_method(name: str, book: Rulebook) -> Fact:
    return Fact("named_nowhere", name=name, of="methods", near=nearest(name, book.methods))


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


def _values_wrong(text: str, document: _Document, loc: Loc) -> list[Fact]:
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


def _programme_wrong(document: _Document) -> list[Fault]:
    """Tasks whose days a programme works out and that its file lacks, or that no programme knows."""
    folder, _, stem = document.name.rpartition("/")
    programme = NUMBERS.get(stem) if folder == "care" else None
    wanted: Collection[str] = programme.tasks if programme else ()
    worked = {task["id"]: number for number, task in enumerate(document.data.get("task", [])) if task.get("worked")}
    faults = [
        _at(document, ("task", number, "worked"), Fact("worked_by_none", task=name))
        for name, number in worked.items()
        if name not in wanted
    ]
    lacking = tuple(sorted(set(wanted) - set(worked)))
    return faults + [Fault(file=document.file, fact=Fact("tasks_missing", tasks=lacking))] * bool(lacking)


def _chains_wrong(book: Rulebook, documents: dict[str, _Document]) -> list[Fault]:
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
            faults.append(Fault(file=documents[f"methods/{method}"].file, fact=fact, line=None, key="milestone"))
        elif len(chain) < len(written) and crops:
            fact = Fact("circle", milestones=tuple(_circle([rule for rule in written if rule not in chain])))
            faults.append(Fault(file=documents[f"methods/{method}"].file, fact=fact, line=None, key="milestone"))
        for rule in chain:
            faults += _durations_wrong(rule, method, crops, book, documents)
    return list(dict.fromkeys(faults))  # the milestones of care files are those of every method


def _durations_wrong(
    rule: MilestoneRule, method: str, crops: list[str], book: Rulebook, documents: dict[str, _Document]
) -> list[Fault]:
    found = {name: book.duration(name, rule, method) for name in crops}
    lacking = [name for name, duration in found.items() if duration is None]
    if len(lacking) == len(crops) > 1:
        document, number = _written(rule.name, documents)
        return [_at(document, ("milestone", number), Fact("no_duration_at_all", milestone=rule.name))]
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
        faults += [_at(document, ("durations", rule.name, "chill"), fact) for document in chilled]
    return faults


def _no_duration(rule: MilestoneRule, crop: Crop, book: Rulebook) -> Fact:
    """That a crop has no days to a milestone, told of the first of its methods that needs them."""
    ways = (name for name in crop.methods if name in book.methods)
    needs = (way for way in ways if rule.name in [each.name for each in book.milestones_for(way)])
    return Fact("no_duration", milestone=rule.name, method=next(needs, ""))


def _written(milestone: str, documents: dict[str, _Document]) -> tuple[_Document, int]:
    """The document a milestone stands in, and its place there."""
    return next(
        (document, number)
        for document in documents.values()
        for number, item in enumerate(_items(document.data, "milestone"))
        if name_of(item) == milestone
    )


def _circle(rules: list[MilestoneRule]) -> list[str]:
    """Of milestones that wait for one another, those in the circle: without what merely waits behind it."""
    left = {rule.name: set(rule.after) for rule in rules}
    while behind := left.keys() - set().union(*left.values()):
        left = {name: after for name, after in left.items() if name not in behind}
    return sorted(left)


def _at(document: _Document, loc: Loc, fact: Fact) -> Fault:
    return Fault(file=document.file, fact=fact, line=document.line(loc), key=key_in_words(loc, document.data))
