"""Make a new nursery's folder from answers, checked as any nursery is before a file is written; or an invented one."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from uuid import uuid4

from almanac.actions.rules import rulebook
from almanac.actions.schemas import write_schemas
from almanac.faults import Fact, Fault, InputFaults, Refusal
from almanac.nursery.frost_source import FrostSourceError, nights_of
from almanac.nursery.load import SETTINGS
from almanac.nursery.logbook import FILE as LOGBOOK
from almanac.nursery.new import Answers, logbook_csv, nursery_toml, varieties_csv
from almanac.nursery.settings import Identity, Settings
from almanac.nursery.varieties import FILE as VARIETIES
from almanac.nursery.varieties import read_varieties
from almanac.rulebook.checked import checked, faults_of
from almanac.rulebook.schema import FOLDER, NURSERY, schema_of
from almanac.rulebook.shipped import shipped
from almanac.site.frost import FrostTable
from almanac.site.holidays import known_country
from almanac.site.stations import Near, nearest, table_of
from almanac.units import System, parse, setting

EXAMPLE, EXAMPLE_DAY = "quince-lane", "2026-02-24"  # the day in the middle of its winter
_ID = re.compile(r'^id = "[^"]*"', re.MULTILINE)


def start(folder: Path, answers: Answers) -> list[Path]:
    """Write the folder.

    Raises:
        Refusal: something stands there already
        InputFaults: an answer will not do; nothing was written
    """
    refuse_existing(folder)
    faults = faults_in(answers, folder)
    if faults:
        raise InputFaults(faults)
    texts = {SETTINGS: nursery_toml(answers, usual_mat(answers.units))}
    texts |= {VARIETIES: varieties_csv(answers.varieties), LOGBOOK: logbook_csv()}
    return _written(folder, texts)


def start_example(folder: Path) -> list[Path]:
    """Write the invented nursery that ships, with an id of its own so that two phones never share its entries.

    Raises:
        Refusal: something stands there already
    """
    refuse_existing(folder)
    example = shipped("examples") / EXAMPLE
    texts = {name: (example / name).read_text("utf-8") for name in (SETTINGS, VARIETIES, LOGBOOK, "README.md")}
    texts[SETTINGS] = _ID.sub(f'id = "{uuid4()}"', texts[SETTINGS], count=1)
    texts["README.md"] = texts["README.md"].replace(f"examples/{EXAMPLE}", str(folder))
    return _written(folder, texts)


def _written(folder: Path, texts: dict[str, str]) -> list[Path]:
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, content in texts.items():
        path = folder / name
        if not path.exists():
            path.write_text(content, encoding="utf-8")
            written.append(path)
    return [*written, *write_schemas(folder / FOLDER, {NURSERY: schema_of(Settings)})]


def refuse_existing(folder: Path) -> None:
    """Never write over a nursery.

    Raises:
        Refusal: the folder is one already, or a file
    """
    if (folder / SETTINGS).exists():
        raise Refusal(Fact("is_nursery", folder=folder, settings=SETTINGS))
    if folder.exists() and not folder.is_dir():
        raise Refusal(Fact("folder_is_file", folder=folder))


def faults_in(answers: Answers, folder: Path) -> list[Fault]:
    """What is wrong with answers, as it would be with the files made from them."""
    return [*_settings_faults(answers, folder), *variety_faults(answers.varieties)]


def variety_faults(varieties: Sequence[tuple[str, str, str]]) -> Iterator[Fault]:
    """What is wrong with the first varieties: their number, name and crop."""
    for fault in read_varieties(varieties_csv(varieties), known_crops())[1]:
        yield replace(fault, file="answers", line=None, key=f"variety {(fault.line or 2) - 1}")


def frost_nearby(answers: Answers) -> tuple[Near, FrostTable]:
    """The frost station nearest to a place, and the dates that come of it there.

    Raises:
        NoStationError: none will do
    """
    height = parse(answers.elevation, "elevation") if answers.elevation else None
    near = nearest(answers.latitude, answers.longitude, height)
    return near, table_of(near, southern=answers.latitude < 0)


def known_crops() -> Collection[str]:
    """The crops that there are rules for."""
    return rulebook(None).crops


def usual_mat(units: System | str) -> str:
    """What mats are set to to begin with, as a file of these units has it."""
    usual = rulebook(None).methods[Identity().method]
    assert usual.mat is not None
    return setting(usual.mat.setting, "us" if units == "us" else "metric")


def usual_air(units: System | str) -> str:
    """How warm it is round the tops to begin with, likewise."""
    return "66 F" if units == "us" else "19 C"


def _settings_faults(answers: Answers, folder: Path) -> Iterator[Fault]:
    document = tomllib.loads(nursery_toml(answers, usual_mat(answers.units)))
    settings, slips = checked(Settings, document)
    if settings is None:
        for fault in faults_of(slips, "", "", document):
            yield Fault(file="answers", fact=fault.fact, key=fault.key)
        return
    try:
        nights_of(settings, folder)
    except FrostSourceError as error:
        yield from (Fault(file="answers", fact=fact, key="frost") for fact in error.facts)
        return
    problem = known_country(answers.country, answers.region)
    if problem:
        yield Fault(file="answers", fact=problem, key="site")
