"""Make a new nursery's folder from answers, checked as any nursery is before a file is written."""

from __future__ import annotations

import tomllib
from pathlib import Path

from pydantic import ValidationError

from almanac.actions.rules import rulebook
from almanac.actions.schemas import write_schemas
from almanac.faults import Fact, Fault, InputFaults, Refusal
from almanac.nursery.frost_source import FrostSourceError, nights_of
from almanac.nursery.load import SETTINGS
from almanac.nursery.logbook import FILE as LOGBOOK
from almanac.nursery.new import Answers, logbook_csv, nursery_toml, varieties_csv
from almanac.nursery.settings import Settings
from almanac.nursery.varieties import FILE as VARIETIES
from almanac.rulebook.fields import faults_of
from almanac.rulebook.schema import FOLDER, NURSERY, schema_of
from almanac.site.holidays import known_country


def start(folder: Path, answers: Answers) -> list[Path]:
    """Write the folder.

    Raises:
        Refusal: something stands there already
        InputFaults: an answer will not do; nothing was written
    """
    refuse_existing(folder)
    text = nursery_toml(answers, next(m.mat.setting for m in rulebook(None).methods.values() if m.mat))
    _check(text, answers, folder)
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, content in ((SETTINGS, text), (VARIETIES, varieties_csv()), (LOGBOOK, logbook_csv())):
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


def _check(text: str, answers: Answers, folder: Path) -> None:
    document = tomllib.loads(text)
    try:
        nights_of(Settings.model_validate(document), folder)
    except ValidationError as error:
        raise InputFaults(
            Fault("answers", fault.fact, None, fault.key) for fault in faults_of(error, Settings, "", "", document)
        ) from None
    except FrostSourceError as error:
        raise InputFaults(Fault("answers", fact, None, "frost") for fact in error.facts) from None
    problem = known_country(answers.country, answers.region)
    if problem:
        raise InputFaults([Fault("answers", problem, None, "site")])
