"""From the shipped rule files, then a nursery's own over them, to one rulebook and every fault found in them."""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from almanac.faults import Fault, suggestion
from almanac.rulebook.book import Rulebook
from almanac.rulebook.fields import faults_of, line_of
from almanac.rulebook.models import LOT_DAYS, SITE_DAYS, Care, Cautions, Crop, Method, Sources

Loc = tuple[int | str, ...]
FOLDERS: dict[str, type[BaseModel]] = {"crops": Crop, "methods": Method, "care": Care}
SINGLES: dict[str, type[BaseModel]] = {"sources": Sources, "cautions": Cautions}


@dataclass
class _Document:
    """One rule document as read: the shipped file, with the nursery's own file of the same name merged over it."""

    name: str
    model: type[BaseModel]
    file: str
    text: str
    data: dict[str, Any]
    files: tuple[str, ...]


def shipped_rules() -> Path:
    """The folder of shipped rule files: inside the package in a wheel, beside it in a checkout."""
    package = Path(__file__).resolve().parent.parent
    inside = package / "rules"
    return inside if inside.is_dir() else package.parent / "rules"


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
    faults: list[Fault] = []
    documents: dict[str, _Document] = {}
    for root, shown in [(shipped_rules(), "rules")] + ([(own, f"{own.name}")] if own and own.is_dir() else []):
        for path in sorted(root.rglob("*.toml")):
            _read_into(documents, path, path.relative_to(root), shown, faults)
    if extra is not None:
        inside = extra.absolute().parent.name in FOLDERS
        relative = Path(extra.absolute().parent.name, extra.name) if inside else Path(extra.name)
        _read_into(documents, extra, relative, None, faults)
    models: dict[str, dict[str, Any]] = {folder: {} for folder in (*FOLDERS, *SINGLES)}
    for document in documents.values():
        try:
            model = document.model.model_validate(document.data)
        except ValidationError as error:
            faults += faults_of(error, document.model, document.file, document.text, document.data)
            continue
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
        files={name: document.files for name, document in documents.items()},
    )
    return book, _cross_check(book, documents, events)


def _read_into(
    documents: dict[str, _Document], path: Path, relative: Path, shown: str | None, faults: list[Fault]
) -> None:
    file, name = f"{shown}/{relative.as_posix()}" if shown else str(path), relative.with_suffix("").as_posix()
    folder = relative.parent.as_posix()
    model = FOLDERS.get(folder) or (SINGLES.get(name) if folder == "." else None)
    if model is None:
        known = f"crops/, methods/ or care/, or be named {' or '.join(f'{s}.toml' for s in SINGLES)}"
        faults.append(Fault(file, f"is not a rule file by its place; it must stand in {known}"))
        return
    try:
        text = path.read_text(encoding="utf-8")
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        faults.append(toml_fault(file, error))
        return
    except (UnicodeDecodeError, OSError):
        faults.append(Fault(file, "cannot be read as UTF-8 text; save it as plain UTF-8"))
        return
    if folder != "." and data.setdefault("id", relative.stem) != relative.stem:
        faults.append(Fault(file, f"'{data['id']}' is not the file's name; write id = \"{relative.stem}\"", None, "id"))
        return
    below = documents.get(name)
    if below:
        if {"task", "milestone"} & data.keys():
            text = ""  # merged lists no longer stand in the order of either file: the key alone says where
        data = _merged(below.data, data)
    documents[name] = _Document(name, model, file, text, data, (*(below.files if below else ()), file))


def toml_fault(file: str, error: tomllib.TOMLDecodeError) -> Fault:
    """A TOML syntax error as a fault with its line."""
    message = str(error)
    text, _, place = message.partition(" (at ")
    line = place.removeprefix("line ").split(",")[0] if place.startswith("line") else ""
    return Fault(file, f"is not valid TOML: {text[:1].lower()}{text[1:]}", int(line) if line.isdigit() else None)


def _merged(below: dict[str, Any], above: dict[str, Any]) -> dict[str, Any]:
    """Key by key, the upper over the lower; lists of named tables item by item."""
    out = dict(below)
    for key, value in above.items():
        old = out.get(key)
        if isinstance(old, dict) and isinstance(value, dict):
            out[key] = _merged(old, value)
        elif isinstance(old, list) and _named(old) and _named(value):
            items = {item.get("id") or item.get("name"): item for item in old}
            for item in value:
                name = item.get("id") or item.get("name")
                items[name] = _merged(items.get(name, {}), item)
            out[key] = list(items.values())
        else:
            out[key] = value
    return out


def _named(value: object) -> bool:
    return isinstance(value, list) and all(isinstance(v, dict) and ("id" in v or "name" in v) for v in value)


def _cross_check(book: Rulebook, documents: dict[str, _Document], events: Collection[str]) -> list[Fault]:
    """Whatever one document says of another: sources, cautions, milestones, methods, double ids."""
    holders: list[Method | Care] = [*book.methods.values(), *book.cares.values()]
    milestones = {rule.name for holder in holders for rule in holder.milestone}
    counted_from = {*milestones, *events, *SITE_DAYS, *LOT_DAYS}
    known: dict[str, tuple[str, Collection[str]]] = {
        "source": ("a source in sources.toml", book.sources),
        "taking_source": ("a source in sources.toml", book.sources),
        "cautions": ("a caution in cautions.toml", book.cautions),
        "after": ("something to count from", counted_from),
        "until": ("an event", {*milestones, *events}),
        "settled_by": ("a milestone or an event", {*milestones, *events}),
        "methods": ("a method", book.methods),
    }
    faults = []
    seen: dict[str, str] = {}
    for document in documents.values():
        for loc, value in _leaves(document.data):
            what = known.get(str(next((part for part in reversed(loc) if isinstance(part, str)), "")))
            if what and isinstance(value, str) and value not in what[1]:
                faults.append(_at(document, loc, f"'{value}' is not {what[0]}{suggestion(value, what[1])}"))
        for number, task in enumerate(document.data.get("task", [])):
            if task["id"] in seen:
                faults.append(_at(document, ("task", number, "id"), f"'{task['id']}' is also in {seen[task['id']]}"))
            seen[task["id"]] = document.file
    return faults or _missing_durations(book, documents)


def _missing_durations(book: Rulebook, documents: dict[str, _Document]) -> list[Fault]:
    faults = []
    for name, crop in book.crops.items():
        for method in crop.methods:
            chain = book.milestones_for(method)
            written = [*book.methods[method].milestone, *(r for care in book.cares.values() for r in care.milestone)]
            if len(chain) < len(written):
                faults.append(
                    Fault(documents[f"methods/{method}"].file, "milestones count from one another in a circle")
                )
            for rule in chain:
                if book.duration(name, rule) is None:
                    text = (
                        f"has no duration for '{rule.name}', which method '{method}' needs; add [durations.{rule.name}]"
                    )
                    faults.append(Fault(documents[f"crops/{name}"].file, text, None, "durations"))
    return faults


def _at(document: _Document, loc: Loc, text: str) -> Fault:
    here: Any = document.data
    words: list[str] = []
    for part in loc:
        here = here[part]
        if isinstance(part, str):
            words.append(part)
        elif isinstance(here, dict):
            words[-1] += f" '{here.get('id') or here.get('name') or part + 1}'"
    return Fault(document.file, text, line_of(document.text, loc), ", ".join(words))


def _leaves(value: Any, loc: Loc = ()) -> Iterator[tuple[Loc, Any]]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _leaves(inner, (*loc, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from _leaves(inner, (*loc, number))
    else:
        yield loc, value
