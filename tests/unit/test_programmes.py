"""Programmes: each part of each is there and found by its name; what they propose is data, combined in one order."""

from __future__ import annotations

import shutil
import sys
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

import almanac
from almanac.by_stem import modules_in
from almanac.nursery.load import load_nursery
from almanac.plan.build import context_of
from almanac.plan.care.programme import Programme
from almanac.plan.care.programmes import programmes
from almanac.plan.care.proposal import Drop, Proposal, PutOff, Tell, Until, combined
from almanac.plan.context.day import Context
from almanac.plan.derivation import Derivation
from almanac.plan.ids import EntryId
from almanac.plan.model import Look, Task
from almanac.rulebook.book import Rulebook
from almanac.rulebook.load import shipped_rules
from almanac.rulebook.models import TaskRule
from almanac.rulebook.programme_numbers import ProgrammeNumbers
from almanac.rulebook.programmes import NUMBERS
from almanac.words.derivation import steps, values
from almanac.words.programmes import AnyWords
from tests.command import in_python
from tests.examples import EXAMPLES
from tests.nurseries import bench


@dataclass(frozen=True)
class Parts:
    """The parts of all programmes, each by the name of its file."""

    rules: frozenset[str]
    numbers: Mapping[str, type[ProgrammeNumbers]]
    programmes: Mapping[str, Programme]
    words: Mapping[str, AnyWords]

    def lacking(self) -> list[str]:
        """What is not there, or is there for nothing."""
        return sorted(self._lacking())

    def _lacking(self) -> Iterator[str]:
        told = {each.of: name for name, words in self.words.items() for each in words}
        made: dict[type[Derivation], set[str]] = {}
        for name, each in self.programmes.items():
            for kind in each.derivations:
                made.setdefault(kind, set()).add(name)
        for name in self.rules | self.numbers.keys() | self.programmes.keys():
            yield from [f"{name}: rule file"] if name not in self.rules else []
            yield from [f"{name}: numbers"] if name not in self.numbers else []
            if name not in self.programmes:
                yield f"{name}: programme"
                continue
            each = self.programmes[name]
            yield from [f"{name}: numbers"] if each.numbers is not self.numbers.get(name) else []
            yield from [f"{name}: derivation"] if not each.derivations else []
            for kind in each.derivations:
                yield from [f"{name}: words of {kind.__name__}"] if told.get(kind) not in made[kind] else []
        yield from (f"{told[kind]}: nothing comes to {kind.__name__}" for kind in told.keys() - made.keys())
        yield from (f"{kind.__name__}: programme" for kind in _kinds(Derivation) - made.keys())


def _kinds(of: type[Derivation]) -> set[type[Derivation]]:
    return {
        kind for each in of.__subclasses__() if each.__module__.startswith("almanac") for kind in (each, *_kinds(each))
    }


@pytest.fixture(scope="module")
def parts() -> Parts:
    files = (shipped_rules() / "care").glob("*.toml")
    rules = frozenset(file.stem for file in files if "programme" in tomllib.loads(file.read_text(encoding="utf-8")))
    words = {name: module.WORDS for name, module in modules_in("almanac.words.programmes").items()}
    return Parts(rules, NUMBERS, programmes(), words)


def test_every_programme_has_its_rule_file_numbers_proposal_derivation_and_words(parts: Parts) -> None:
    assert parts.lacking() == []


@pytest.mark.parametrize("part", ["rules", "numbers", "programmes", "words"])
def test_a_programme_that_lacks_a_part_is_named(parts: Parts, part: str) -> None:
    kept: Any = getattr(parts, part)
    kept = kept - {"light"} if isinstance(kept, frozenset) else {k: kept[k] for k in kept if k != "light"}

    lacking = replace(parts, **{part: kept}).lacking()

    assert lacking
    assert any("light" in each or "LampHours" in each for each in lacking)


def test_figures_that_no_file_has_words_for_are_an_error_and_no_silence() -> None:
    class Unsaid(Derivation):
        """Of no programme."""

    with pytest.raises(KeyError):
        values(Unsaid())
    with pytest.raises(KeyError):
        steps(Unsaid(), "metric")


@pytest.fixture(scope="module")
def contexts(tmp_path_factory: pytest.TempPathFactory) -> list[Context]:
    """The examples on a day of work, and two months on; and a nursery with an order to ship."""
    now, found = datetime(2031, 1, 1, tzinfo=UTC), []
    for folder in sorted(EXAMPLES.iterdir()):
        last = max(load_nursery(folder, now).stock.lots.values(), key=lambda lot: lot.known_at).known_at
        found += [context_of(load_nursery(folder, now, day)) for day in (last, last + timedelta(days=60))]
    log, orders = "2026-12-15 taken 7a --count 20", ["12,2027-01-20,7,dormant,6,2027-02-25,US,VA,,"]
    found.append(context_of(bench(tmp_path_factory.mktemp("orders"), log, date(2027, 1, 20), orders=orders)))
    return found


@pytest.mark.parametrize("name", programmes())
def test_a_programme_reads_the_numbers_that_it_names_and_no_others(
    name: str, contexts: list[Context], monkeypatch: pytest.MonkeyPatch
) -> None:
    read: set[type[ProgrammeNumbers]] = set()
    of_book = Rulebook.programme

    def noted(book: Rulebook, model: type[Any]) -> Any:
        if not sys._getframe(1).f_globals["__name__"].startswith("almanac.forecast"):  # that is the forecast's to read
            read.add(model)
        return of_book(book, model)

    monkeypatch.setattr(Rulebook, "programme", noted)
    programme = programmes()[name]
    for context in contexts:
        programme.propose(replace(context))

    assert read - {programme.numbers} == set(programme.reads)


@pytest.mark.parametrize("name", programmes())
def test_a_programme_proposes_the_same_of_the_same_day_and_names_what_it_comes_to(
    name: str, contexts: list[Context]
) -> None:
    programme = programmes()[name]
    for context in contexts:
        proposal = programme.propose(context)

        assert programme.propose(context) == proposal
        asked: list[Task | Look] = [*proposal.tasks, *proposal.looks]
        came_to = [each.derivation for each in asked] + [each.derivation for each in proposal.warnings]
        assert {type(each) for each in came_to if each} <= set(programme.derivations)
        assert {each.rule.id for each in asked if each.rule.worked} <= programme.numbers.tasks


def test_programmes_come_each_after_the_one_it_follows() -> None:
    order = list(programmes())

    for name, each in programmes().items():
        assert not each.follows or order.index(each.follows) < order.index(name)


RULE = TaskRule(id="look", title="Look", kind="look", after="stuck", first_day=3, every_days=4, source="none")
DAY = date(2027, 1, 4)
WATER, FEED, LOOK, CARD, LONG, SHORT = (
    EntryId("7a", rule) for rule in ("water", "feed", "look", "card", "long", "short")
)
WATER_B, LOOK_B = EntryId("7b", "water"), EntryId("7b", "look")


def _look(name: EntryId, *, days: int = 30) -> Look:
    return Look(id=name, rule=RULE, lot="7a", bin="A", start=DAY, end=DAY + timedelta(days=days), counted_from="stuck")


def _task(name: EntryId) -> Task:
    return Task(id=name, rule=RULE, lots=("7a",), earliest=DAY, due=DAY, latest=DAY, counted_from="stuck", since=DAY)


def test_what_is_dropped_is_gone_unless_it_is_asked_for_again_after() -> None:
    plain = Proposal(tasks=(_task(WATER), _task(WATER_B)), looks=(_look(LOOK), _look(LOOK_B)))
    drops = Proposal(tasks=(_task(WATER),), amends=(Drop(WATER), Drop(LOOK)))

    found = combined([plain, drops])

    assert [task.id for task in found.tasks] == [WATER_B, WATER]
    assert [look.id for look in found.looks] == [LOOK_B]


def test_a_look_put_off_counts_from_what_is_done_then_and_one_that_would_end_before_it_begins_is_left_out() -> None:
    late = DAY + timedelta(days=20)
    plain = Proposal(looks=(_look(LONG, days=60), _look(SHORT, days=22)))
    put_off = Proposal(amends=tuple(PutOff(name, late, "watered") for name in (LONG, SHORT)))

    [left] = combined([plain, put_off]).looks

    assert (left.id, left.start, left.counted_from) == (LONG, late, "watered")


def test_a_look_ends_by_a_day_and_tells_why_while_a_task_keeps_its_days() -> None:
    why, until = Derivation(about=WATER), DAY + timedelta(days=9)
    plain = Proposal(tasks=(_task(LOOK),), looks=(_look(LOOK),))

    found = combined([plain, Proposal(amends=(Until(LOOK, until), Tell(LOOK, why)))])

    assert found.looks == (replace(_look(LOOK), end=until, derivation=why),)
    assert found.tasks == (replace(_task(LOOK), derivation=why),)


def test_the_last_word_on_a_look_holds_and_one_that_ends_on_its_first_latest_day_stays() -> None:
    late, why = DAY + timedelta(days=20), Derivation(about=FEED)
    plain = Proposal(looks=(_look(LONG, days=23),))
    told = Proposal(amends=(Tell(LONG, Derivation(about=WATER)), PutOff(LONG, late, "watered"), Tell(LONG, why)))

    [left] = combined([plain, told]).looks

    assert left.latest(None) == left.end == DAY + timedelta(days=23)
    assert left.derivation == why


def test_however_proposals_are_bracketed_they_come_to_the_same() -> None:
    first = Proposal(tasks=(_task(WATER),), looks=(_look(LOOK),))
    second = Proposal(tasks=(_task(FEED),), looks=(_look(CARD),), amends=(Drop(WATER), Until(LOOK, DAY)))
    third = Proposal(tasks=(_task(WATER),), looks=(), amends=(PutOff(CARD, DAY + timedelta(days=2), "fed"), Drop(FEED)))

    assert combined([first, second, third]) == combined([combined([first, second]), third])
    assert combined([first, second, third]) == combined([first, combined([second, third])])


# An invented programme, as DEVELOPERS says to add one: its rule file and three files of its name, and no other changed.
INVENTED = {
    "rules/care/labels.toml": """
id = "labels"
title = "Labels (invented)"

[programme]
fades = "40 d"
source = "memory"
note = "Invented for a test."

[[task]]
id = "label_again"
title = "Write labels again, ink {ink}"
kind = "do"
worked = true
after = "stuck"
log = "log noted {lot}"
source = "memory"
""",
    "almanac/rulebook/programmes/labels.py": """
from almanac.plain import dataclass
from almanac.rulebook.fields import Days
from almanac.rulebook.programme_numbers import ProgrammeNumbers

@dataclass(frozen=True, kw_only=True)
class Labels(ProgrammeNumbers):
    tasks = frozenset({"label_again"})
    values = frozenset({"ink"})
    fades: Days
""",
    "almanac/plan/care/programmes/labels.py": """
from almanac.plain import dataclass
from datetime import timedelta

from almanac.plan.care.programme import Programme
from almanac.plan.care.proposal import Proposal
from almanac.plan.derivation import Derivation
from almanac.plan.ids import EntryId
from almanac.plan.model import Task
from almanac.rulebook.programmes.labels import Labels

@dataclass(frozen=True)
class Faded(Derivation):
    days: float

def propose(context):
    fades, rule, tasks = context.around.book.programme(Labels).fades, context.around.book.task("label_again"), []
    for lot in context.open_lots():
        day = lot.started + timedelta(days=fades)
        dates = day, day, day + timedelta(days=30)
        name = EntryId(lot.id, "label_again")
        early, due, late = dates
        tasks.append(Task(id=name, rule=rule, lots=(lot.id,), earliest=early, due=due, latest=late,
                          counted_from="stuck", since=lot.started, derivation=Faded(fades)))
    return Proposal(tasks=tuple(tasks))

PROGRAMME = Programme(numbers=Labels, propose=propose, derivations=(Faded,))
""",
    "almanac/words/programmes/labels.py": """
from almanac.plan.care.programmes.labels import Faded
from almanac.words.programmes import DerivationWords

def values(found):
    return {"ink": "black"}

def steps(found, system):
    return [f"Ink fades in {found.days:.0f} days."]

WORDS = (DerivationWords(of=Faded, values=values, steps=steps),)
""",
}


@pytest.mark.start
def test_a_new_programme_is_its_rule_file_and_files_of_its_name_and_nothing_else(tmp_path: Path) -> None:
    shutil.copytree(Path(almanac.__file__).parent, tmp_path / "almanac")
    if not (tmp_path / "almanac" / "rules").is_dir():
        shutil.copytree(shipped_rules(), tmp_path / "rules")
    for name, text in INVENTED.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    (tmp_path / "lane").mkdir()
    bench(tmp_path / "lane", "2026-01-05 received 7a --count 12 --stage rooting --bin A", date(2026, 2, 1))
    words = ("--nursery", tmp_path / "lane", "--as-of", "2026-02-14", "why", "7a.label_again")

    told = in_python(
        "from almanac.cli.main import main; main()", *words, cwd=tmp_path, environment={"PYTHONPATH": str(tmp_path)}
    )

    assert told.stdout.startswith("Write labels again, ink black: 7a"), told.stderr
    assert "- Ink fades in 40 days." in told.stdout
