"""The rulebook alone: shipped rules, a nursery's own over them, and one file more to be checked."""

from __future__ import annotations

from pathlib import Path

from almanac.faults import Fact, InputFaults, Refusal
from almanac.nursery.events import EVENTS
from almanac.rulebook.book import Rulebook
from almanac.rulebook.fields import read_toml
from almanac.rulebook.load import load_rules
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


def units_of(own: Path | None) -> System:
    """The units in which the nursery that holds a rules folder shows values; metric where there is none to ask."""
    settings = own.parent / "nursery.toml" if own else None
    if settings is None or not settings.is_file():
        return "metric"
    identity = (read_toml(settings.read_bytes(), settings.name)[1] or {}).get("nursery")
    return "us" if isinstance(identity, dict) and identity.get("units") == "us" else "metric"
