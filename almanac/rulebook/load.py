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

from almanac.faults import Fact, Fault, as_found
from almanac.rulebook import kept_tables
from almanac.rulebook.book import Rulebook
from almanac.rulebook.changes import changes, merged, name_of, with_own_source
from almanac.rulebook.document import Document, items_of
from almanac.rulebook.fields import Table
from almanac.rulebook.files import RuleFile, own_files, rule_files
from almanac.rulebook.law import Laws
from almanac.rulebook.models import Care, Cautions, Crop, Method, Sources, care_model
from almanac.rulebook.shipped import shipped
from almanac.rulebook.supplies import Supplies
from almanac.rulebook.toml_text import line_of, read_toml, too_large

FOLDERS: dict[str, type[Table]] = {"crops": Crop, "methods": Method, "care": Care}
SINGLES: dict[str, type[Table]] = {"sources": Sources, "cautions": Cautions, "supplies": Supplies, "law": Laws}


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
    from almanac.rulebook.agreement import disagreements
    from almanac.rulebook.checked import checked, faults_of  # a third of a command that meets only files seen before

    faults: list[Fault] = []
    documents: dict[str, Document] = {}
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
    return book, disagreements(book, documents, events)


def _read_into(documents: dict[str, Document], written: RuleFile, faults: list[Fault]) -> None:
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
    documents[name] = Document(
        name=name, model=model, file=file, text=text, own=own, data=data, files=(*found_there, file), changes=made
    )


def _named_twice(file: str, text: str, own: dict[str, Any]) -> list[Fault]:
    """Tasks and milestones that stand twice in one file: merged by name, one would be lost without a word."""
    faults = []
    for key, label in (("task", "id"), ("milestone", "name")):
        names = [name_of(item) for item in items_of(own, key)]
        for number, name in enumerate(names):
            if name and name in names[:number]:
                fact, line = Fact("named_twice", name=name, label=label), line_of(text, (key, number, label))
                faults.append(Fault(file=file, fact=fact, line=line, key=f"{key} {number + 1}, {label}"))
    return faults
