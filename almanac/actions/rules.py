"""The rulebook alone: shipped rules, a nursery's own over them, and one file more to be checked."""

from __future__ import annotations

import re
from pathlib import Path

from almanac.actions.schemas import names_in, write_schemas
from almanac.faults import Fact, InputFaults, Refusal, nearest
from almanac.nursery.events import EVENTS
from almanac.nursery.load import SETTINGS
from almanac.rulebook.book import Rulebook
from almanac.rulebook.load import load_rules, shipped_rules
from almanac.rulebook.new import care, changing, like
from almanac.rulebook.schema import FOLDER as SCHEMAS
from almanac.rulebook.schema import named_in, rule_schema
from almanac.rulebook.toml_text import read_toml
from almanac.units import System


def rulebook(own: Path | None, file: Path | None = None) -> Rulebook:
    """All rules in force.

    Args:
        own: a nursery's own rules folder, if there is one
        file: one more rule file, taken as if it stood there
    Raises:
        InputFaults: every fault in every rule file
        Refusal: the file is not there
    """
    if file is not None and not file.is_file():
        raise Refusal(Fact("no_file", file=file))
    book, faults = load_rules(own, EVENTS, file)
    if faults or book is None:
        raise InputFaults(faults)
    return book


_ID = re.compile(r"[a-z][a-z0-9_]*")
_FOLDERS = {"crop": "crops", "method": "methods", "care": "care"}
_LIKE = {"crop": "fig", "method": "sealed_bag"}


def new_rule(folder: Path, kind: str, stem: str, other: str | None = None) -> list[Path]:
    """Write a rule file to start from into a nursery's own rules, and the schema that it names.

    Args:
        kind: crop, method or care
        stem: its id; of a shipped file, whose values then stand in it behind a #
        other: the one whose values it starts from
    Raises:
        Refusal: it is there already, its id will not do, or there is no other to start from
        OSError: it cannot be written
    """
    if not (folder / SETTINGS).is_file():
        raise Refusal(Fact("no_nursery", folder=str(folder), settings=SETTINGS))
    if not _ID.fullmatch(stem):
        raise Refusal(Fact("other_form", given=stem, form="short_name"))
    place, shipped = _FOLDERS[kind], shipped_rules()
    path, ships = folder / "rules" / place / f"{stem}.toml", (shipped / place / f"{stem}.toml").is_file()
    if path.exists():
        raise Refusal(Fact("rule_file_there", file=path))
    schema = named_in(place, stem, shipped=ships)
    if ships and other:
        raise Refusal(Fact("rule_ships", kind=kind, name=stem))
    if ships:
        text = changing((shipped / place / f"{stem}.toml").read_text(encoding="utf-8"), schema)
    elif kind == "care" and other is None:
        text = care(stem, schema)
    else:
        other = other or _LIKE[kind]
        text = like(kind, _text_of(kind, other, folder), stem, other, schema)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    named = rule_schema(place, stem, shipped=ships, names=names_in(folder))
    return [path, *write_schemas(folder / SCHEMAS, dict([named]))]


def _text_of(kind: str, name: str, folder: Path) -> str:
    """The text of the rule file to start from: one that is whole in itself."""
    place = _FOLDERS[kind]
    roots = [shipped_rules() / place, folder / "rules" / place]
    known = {path.stem: path for root in reversed(roots) for path in sorted(root.glob("*.toml"))}
    if name not in known:
        raise Refusal(Fact("no_rule_like", kind=kind, name=name, near=nearest(name, known)))
    text = known[name].read_text(encoding="utf-8-sig")
    document = read_toml(text.encode(), name)[1] or {}
    if kind == "care" and ("programme" in document or "milestone" in document):
        raise Refusal(Fact("care_but_once", name=name))
    return text


def units_of(own: Path | None) -> System:
    """The units in which the nursery that holds a rules folder shows values; metric where there is none to ask."""
    settings = own.parent / "nursery.toml" if own else None
    if settings is None or not settings.is_file():
        return "metric"
    identity = (read_toml(settings.read_bytes(), settings.name)[1] or {}).get("nursery")
    return "us" if isinstance(identity, dict) and identity.get("units") == "us" else "metric"
