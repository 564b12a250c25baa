"""The rulebook: all rules in force, looked up by id. Made by `load`, asked by the forecast and the plan. Pure."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import field
from fractions import Fraction
from functools import lru_cache
from typing import TypeVar

from almanac.plain import dataclass, replace
from almanac.rulebook.changes import Change
from almanac.rulebook.law import Law
from almanac.rulebook.models import (
    Care,
    Caution,
    Crop,
    Cutting,
    Duration,
    InGround,
    Method,
    MilestoneRule,
    Source,
    TaskRule,
)
from almanac.rulebook.programme_numbers import ProgrammeNumbers
from almanac.rulebook.programmes import NUMBERS
from almanac.rulebook.supplies import Supplies
from almanac.units import both_scales

_Of = TypeVar("_Of", bound=ProgrammeNumbers)
_THIN_CM = 2.5
_BOOKS = 4  # whose answers are kept: a server reads its rules anew whenever they change


@dataclass(frozen=True, eq=False, kw_only=True)
class Rulebook:
    """Every rule by id. `closing` is the last word after any cautions.

    `files` says which files each document came from, the grower's own last; `changes` what those say otherwise.
    """

    crops: Mapping[str, Crop]
    methods: Mapping[str, Method]
    cares: Mapping[str, Care]
    sources: Mapping[str, Source]
    cautions: Mapping[str, Caution]
    closing: str
    supplies: Supplies
    laws: Mapping[str, Law] = field(default_factory=dict)
    files: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    changes: tuple[Change, ...] = ()

    def tasks(self) -> dict[str, tuple[TaskRule, str]]:
        """Every task rule by id, with the document it stands in ("methods/sealed_bag")."""
        found = {}
        for folder, documents in (("methods", self.methods), ("care", self.cares)):
            for name, document in documents.items():
                for rule in document.task:
                    found[rule.id] = (rule, f"{folder}/{name}")
        return found

    def programme(self, model: type[_Of]) -> _Of:
        """The numbers of a programme."""
        [name] = (name for name, known in NUMBERS.items() if known is model)
        found = self.cares[name].programme
        assert isinstance(found, model)  # the care file of its name does not load without it
        return found

    def task(self, name: str) -> TaskRule:
        """The task rule of an id."""
        return _rules(self)[name]

    def tasks_for(self, method: str, crop: str = "") -> tuple[TaskRule, ...]:
        """The tasks of a lot rooted by `method`: the method's own, then the care files'; with a crop, told for it."""
        return _tasks_for(self, method, crop)

    def told_for(self, rule: TaskRule, crop: str, method: str = "") -> TaskRule:
        """A task with the crop's own values where its text names them: "mat {mat}" as "mat 75-81 F (24-27 C)".

        Of what differs by `method` those of that one, where it is given.
        """
        texts = (rule.how, *rule.checklist)
        if crop not in self.crops or not any(VALUE.search(text) for text in texts):
            return rule
        found = _Told(self.crops[crop], self, method)
        how, *checklist = (VALUE.sub(lambda name: _of_crop(found, name), text) for text in texts)
        return replace(rule, how=how, checklist=tuple(checklist))

    def milestones_for(self, method: str) -> tuple[MilestoneRule, ...]:
        """The milestones of a lot rooted by `method`, each after those it counts from."""
        return _milestones_for(self, method)

    def duration(self, crop: str, milestone: MilestoneRule, method: str) -> Duration | None:
        """The days to a milestone for one cutting by a method: the crop's own, else the general one of the rule."""
        return self.crops[crop].duration(milestone.name, method) or milestone.duration

    @property
    def method_places(self) -> dict[str, str]:
        """By method, the kind of place its cuttings stand in."""
        return {name: method.place for name, method in self.methods.items()}

    @property
    def crop_methods(self) -> dict[str, list[str]]:
        """By crop, the methods that suit it and are known."""
        return {name: [each for each in crop.methods if each in self.methods] for name, crop in self.crops.items()}

    def method_for(self, crop: str, usual: str) -> str:
        """How a crop is rooted where nobody says: the nursery's usual way if it suits it, else the crop's first.

        A way of the grower's own that no crop lists is taken to suit all.
        """
        methods = self.crops[crop].methods
        own = not any(usual in each.methods for each in self.crops.values())
        return usual if own or usual in methods or not methods else methods[0]


VALUE = re.compile(r"\{(\w*)\}")  # a value of the crop, in the text of a task


@dataclass(frozen=True)
class _Told:
    """A crop whose values a text names, as rooted by a method; by any of its own where that is empty."""

    crop: Crop
    book: Rulebook
    method: str

    @property
    def cutting(self) -> Cutting | None:
        return self.crop.cutting_for(self.method)

    @property
    def ground(self) -> InGround | None:
        return next((each.ground for each in self.crop.method.values() if each.ground), None)


# The values of a crop that the text of a task may name, as they read there: in both scales, as rule files have them.
CROP_VALUES: Mapping[str, Callable[[_Told], str]] = {
    "mat": lambda told: both_scales(told.crop.base.optimum_low, told.crop.base.optimum_high),
    "store": lambda told: both_scales(told.crop.store.low, told.crop.store.high),
    "keeps": lambda told: (
        f"{_joined(f'{d / 7:.0f}' for d in (told.crop.store.keeps_low, told.crop.store.keeps_high))} weeks"
    ),
    "night": lambda told: both_scales(told.crop.cold.lowest_night),
    "wood": lambda told: both_scales(told.crop.cold.young_wood.killed),
    "growth": lambda told: both_scales(told.crop.cold.new_growth_killed),
    "roots": lambda told: both_scales(told.crop.cold.roots_killed),
    "cutting": lambda told: _cutting(told),
    "stick": lambda told: _sticking(told),
    "depth": lambda told: _lengths(told.ground.depth, told.ground.depth) if told.ground else "",
    "apart": lambda told: _lengths(told.ground.apart, told.ground.apart) if told.ground else "",
}


def _of_crop(told: _Told, name: re.Match[str]) -> str:
    """The crop's value of a name; what is none is left for the task's programme."""
    return CROP_VALUES[name[1]](told) if name[1] in CROP_VALUES else name[0]


def _cutting(told: _Told) -> str:
    """How long, no longer than the bag takes, how thick, with how many nodes, as a sentence; and what it may carry."""
    cut, book = told.cutting, told.book
    if cut is None:
        return ""
    methods = (book.methods[name] for name in told.crop.methods if name in book.methods and told.method in ("", name))
    bags = [method.bag for method in methods if method.bag]
    if any(not cut.fits(bag) for bag in bags):
        return f"No cutting of it closes in the bag, from {_lengths(cut.length_low, cut.length_low)} on. {cut.disease}"
    longest = min([cut.length_high, *(cut.longest_in(bag) for bag in bags)])
    long, thick = (_lengths(*each) for each in ((cut.length_low, longest), (cut.thick_low, cut.thick_high)))
    return f"Cuttings {long} long, {thick} thick, with {cut.nodes} nodes at least. {cut.disease}".strip()


def _sticking(told: _Told) -> str:
    """How deep it is stuck, and what it needs besides, as sentences."""
    cut = told.cutting
    if cut is None:
        return ""
    over = cut.nodes - cut.under
    mix = "soil" if told.method in told.crop.method and told.crop.method[told.method].ground else "mix"
    nodes = f"{cut.under} node{'s' * (cut.under > 1)} in the {mix}, {over} over it, foot down."
    return f"{nodes} {cut.beside}".strip()


def _lengths(low_cm: float, high_cm: float) -> str:
    """`8-10 in (20-25 cm)`, thin ones in eighths of an inch and millimetres."""
    both = low_cm, high_cm
    if low_cm < _THIN_CM:
        return f"{_joined(map(_eighths, both))} in ({_joined(f'{each * 10:.0f}' for each in both)} mm)"
    inches, cm = ([f"{x:.0f}" for x in (low_cm / by, high_cm / by)] for by in (2.54, 1.0))
    return f"{_joined(inches)} in ({_joined(cm)} cm)"


def _eighths(length_cm: float) -> str:
    whole, part = divmod(round(length_cm / 2.54 * 8), 8)
    if not part:
        return str(whole)
    return f"{whole or ''}{' ' * bool(whole)}{Fraction(part, 8)}"


def _joined(ends: Iterable[str]) -> str:
    return "-".join(dict.fromkeys(ends))


@lru_cache(maxsize=_BOOKS)
def _rules(book: Rulebook) -> Mapping[str, TaskRule]:
    return {name: rule for name, (rule, _) in book.tasks().items()}


@lru_cache(maxsize=_BOOKS * 64)
def _tasks_for(book: Rulebook, method: str, crop: str) -> tuple[TaskRule, ...]:
    if crop:
        return tuple(book.told_for(rule, crop, method) for rule in _tasks_for(book, method, ""))
    own = list(book.methods[method].task) if method in book.methods else []
    shared = [rule for care in book.cares.values() for rule in care.task]
    return tuple(rule for rule in own + shared if not rule.methods or method in rule.methods)


@lru_cache(maxsize=_BOOKS * 8)
def _milestones_for(book: Rulebook, method: str) -> tuple[MilestoneRule, ...]:
    rules = list(book.methods[method].milestone) if method in book.methods else []
    rules += [rule for care in book.cares.values() for rule in care.milestone]
    waiting = {rule.name: rule for rule in rules}
    ordered: list[MilestoneRule] = []
    while waiting:
        ready = [rule for rule in waiting.values() if not any(name in waiting for name in rule.after)]
        if not ready:
            break  # a circle; `load` reports it as a fault
        for rule in ready:
            ordered.append(waiting.pop(rule.name))
    return tuple(ordered)
