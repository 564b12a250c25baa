"""Lamps: when the timer of a bin goes on, and when it is set anew, with roots or with the days. Pure.

One timer a bin: on low at the first green in it, up once a lot in leaf has roots. Alone in a closed bin, else with what
the day lacks, reckoned by the week. Several crops: no more light, and no longer, than each of them bears.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import zip_longest

from almanac.nursery.settings_places import LAMP_ON, BinLight
from almanac.plain import dataclass
from almanac.plan.care.plain.others import for_bin
from almanac.plan.care.programme import Programme
from almanac.plan.care.programmes.light.derivation import LampHours
from almanac.plan.care.programmes.light.lamp_days import InLeaf, in_leaf, logged, not_before
from almanac.plan.care.proposal import Proposal, combined
from almanac.plan.context.day import Anchor, Context
from almanac.plan.context.tasks import window_task
from almanac.plan.ids import EntryId
from almanac.plan.model import Task
from almanac.rulebook.models import LightWanted
from almanac.rulebook.programmes.light import Lamps
from almanac.site.lamp import Daylight, Lamp, LightAim, Setting, alone, beside, daylight, fits

_HOLDS_DAYS = 21  # a setting is looked at again within so many days of the Monday it was worked out for


@dataclass(frozen=True, kw_only=True)
class _Change:
    """A timer to be set: on the likely day of its anchor, the first time with no `step`."""

    anchor: Anchor
    step: str
    first: bool
    derivation: LampHours

    @property
    def day(self) -> date:
        return self.anchor.days[1]


def propose(context: Context) -> Proposal:
    """What the lamps ask for: each bin's timer, and a look at the probe where a closed bin heats up."""
    found = []
    for name, log in context.stock.bins.items():
        if log.outdoors:
            continue
        light = _light(context, name)
        timer = _Timer(context, name, light)
        changes = [_task(context, name, change) for change in timer.changes()]
        leaf_known = any(each.leaf.known for each in timer.lots)
        found.append(Proposal(tasks=tuple(_apart(changes, context.as_of, leaf_known=leaf_known))))
        if light is None or light.where == "closed":
            found.append(for_bin(context, name, context.book.task("lamp_probe")))
    return combined(found)


PROGRAMME = Programme(
    numbers=Lamps,
    propose=propose,
    derivations=(LampHours,),
    follows="fungus_gnats",
)


def _light(context: Context, name: str) -> BinLight | None:
    found = context.around.settings.bin_named(name)
    return found.light if found else None


def _task(context: Context, name: str, change: _Change) -> Task:
    rule = context.book.task("lamp_on" if change.first else "lamp_set")
    task_id = EntryId(name, rule.id, change.step)
    lots = tuple(lot.id for lot in context.open_lots(name))
    return replace(
        window_task(task_id, rule, change.anchor, lots, name), step=change.step, derivation=change.derivation
    )


def _apart(tasks: Sequence[Task], as_of: date, *, leaf_known: bool) -> Iterator[Task]:
    """No two on one day, and of those whose day has come only the last: a timer has one setting.

    While leaves are but forecast, what follows from the light of a week is over with the week.
    """
    opens = date.min
    for task, following in zip_longest(tasks, tasks[1:]):
        latest = min(task.latest, following.due - timedelta(days=1)) if following else task.latest
        earliest = min(max(task.earliest, opens), task.due)
        opens = latest + timedelta(days=1)
        gone_by = task.milestone is None and task.latest < as_of and not leaf_known
        if (following is None or following.due > as_of) and not gone_by:
            yield replace(task, earliest=earliest, latest=latest)


class _Timer:
    """One bin's timer from its first green on, as it was last logged or else as planned."""

    def __init__(self, context: Context, name: str, light: BinLight | None) -> None:
        self.context, self.light = context, light
        self.numbers = context.book.programme(Lamps)
        self.settle = timedelta(days=self.numbers.settle_days)
        self.lots = in_leaf(context, name, self.settle)
        self.logged = logged(context, name)
        on = light.on.hour + light.on.minute / 60 if light else LAMP_ON.hour
        self.lamp = Lamp(ppfd=light.ppfd if light else None, most_h=light.hours if light else 24.0, on_h=on)

    def changes(self) -> Iterator[_Change]:
        """Every time it is to be set."""
        if not self.lots:
            return
        first, last = self.lots[0].leaf.days[1], max(each.until for each in self.lots)
        since, state = self._state()
        was_raised = since is not None and self._raised(since)
        been_on, named_roots = self.logged is not None, False
        for number in range((last - first).days + 1):
            day = first + timedelta(days=number)
            if not self._asks(day, first, last, since, state, was_raised=was_raised):
                continue
            roots = self._raised(day) and not was_raised and not named_roots
            was_raised = self._raised(day)
            derivation = self._derivation(day, state)
            if self._keeps(state, derivation, day):
                continue
            anchor, step = self._named(day, first, since, roots=roots)
            is_first = not been_on or (day == first and not state.hours)
            yield _Change(anchor=anchor, step="" if is_first else step, first=is_first, derivation=derivation)
            since, state, been_on, named_roots = day, derivation.setting, True, named_roots or step == "roots"

    def _state(self) -> tuple[date | None, Setting]:
        """Since when it is set to what."""
        if self.logged is None:
            return None, Setting(on_h=self.lamp.on_h, hours=0.0, limit="lamp")
        day, hours = self.logged
        lots = self._there(day)
        asked = self._solved(day, self._wanted(lots, raised=self._raised(day))) if lots else None
        near = asked is not None and abs(asked.hours - hours) < self.numbers.change
        return day, Setting(on_h=asked.on_h if asked and near else self.lamp.on_h, hours=hours, limit="lamp")

    def _there(self, day: date) -> list[InLeaf]:
        return [each for each in self.lots if each.there(day)]

    def _raised(self, day: date) -> bool:
        return any(each.has_roots(day) for each in self.lots)

    def _asks(
        self, day: date, first: date, last: date, since: date | None, state: Setting, *, was_raised: bool
    ) -> bool:
        """Whether the timer is thought of on a day: at the first green, with the first roots, else on Mondays.

        Not again so soon, nor in the last days before the bin is empty; but at once where what was logged is too long.
        """
        if not self._there(day) or (since is not None and day <= since):
            return False
        if day == first or (self.logged and day == self.logged[0] + timedelta(days=1) and self._no_dark(day, state)):
            return True
        if day > last - self.settle or (since is not None and day < since + self.settle):
            return False
        if self._raised(day) and not was_raised:
            return True
        soon = not was_raised and self._raised(day + self.settle)
        return day.weekday() == 0 and not soon

    def _no_dark(self, day: date, state: Setting) -> bool:
        """Whether a setting leaves plants less dark than they need."""
        wanted = self._wanted(self._there(day), raised=False)
        coming = self._coming(day)
        return not fits(state, wanted, coming) if coming else state.hours > wanted.most_h

    def _derivation(self, day: date, state: Setting) -> LampHours:
        lots = self._there(day) or self.lots[:1]
        raised = self._raised(day)
        wanted = self._wanted(lots, raised=raised)
        setting = self._solved(day, wanted)
        change = self.numbers.change
        if abs(setting.hours - state.hours) < change and state.hours and not fits(state, wanted, self._coming(day)):
            lower = replace(self.lamp, most_h=min(self.lamp.most_h, state.hours - change))
            setting = replace(self._solved(day, wanted, lower), limit="most_h")
        crops = tuple(dict.fromkeys(self.context.book.crops[each.lot.crop].title for each in lots))
        shared = self.light is not None and self.light.where != "closed"
        place = self.numbers.beside_day if shared else self.numbers.closed
        share = self.light.share if self.light else None
        return LampHours(
            setting=setting,
            wanted=wanted,
            lamp=self.lamp,
            day=self._day(day),
            share=share,
            crops=crops,
            raised=raised,
            before=state.hours,
            place=place,
        )

    def _wanted(self, lots: Sequence[InLeaf], *, raised: bool) -> LightAim:
        """What suits every crop: the dose of the neediest, but no more light, and no longer, than each bears."""
        lights: list[LightWanted] = [self.context.book.crops[each.lot.crop].light for each in lots]
        most = min(each.dli_high for each in lights)
        least = min(most, max(each.dli_low for each in lights))
        most_h = min(min(each.hours for each in lights), 24 - max(each.dark for each in lights))
        return LightAim(
            aim_mol=most if raised else least,
            least_mol=least,
            most_mol=most,
            least_h=min(self.numbers.least_hours, most_h),
            most_h=most_h,
        )

    def _solved(self, day: date, wanted: LightAim, lamp: Lamp | None = None) -> Setting:
        found = self._day(day)
        lamp = lamp or self.lamp
        return beside(wanted, lamp, found, self._coming(day)) if found else alone(wanted, lamp)

    def _keeps(self, state: Setting, derivation: LampHours, day: date) -> bool:
        """Whether the timer stays as it is: it is near enough, or, in a closed bin, no less than crops bear anyway."""
        hours, wanted = derivation.setting.hours, derivation.wanted
        near = abs(hours - state.hours) < self.numbers.change and bool(hours) == bool(state.hours)
        if derivation.day is not None:
            return near and fits(state, wanted, self._coming(day))
        if not wanted.least_h <= state.hours <= wanted.most_h:
            return near and state.hours <= wanted.most_h
        bears = wanted.least_mol <= self.lamp.dose_mol(state.hours) <= wanted.most_mol
        return near or self.lamp.ppfd is None or (bears and state.hours >= hours)

    def _named(self, day: date, first: date, since: date | None, *, roots: bool) -> tuple[Anchor, str]:
        """What a change counts from, and what its step is called."""
        if day == first:
            return self.lots[0].leaf, "leaves"
        if roots:
            anchor = next(each.rooted for each in self.lots if each.rooted and each.has_roots(day))
            return not_before(anchor, since + self.settle) if since else anchor, "roots"
        changed = "daylight" if self._day(day) else "lamp"
        return Anchor.on(changed, day), f"{day:%m-%d}"

    def _day(self, day: date) -> Daylight | None:
        """The daylight of the middle of a day's week, where it reaches the bin."""
        if self.light is None or self.light.share is None:
            return None
        return self._daylight(_monday(day) + timedelta(days=3))

    def _coming(self, day: date) -> list[Daylight]:
        if self.light is None or self.light.share is None:
            return []
        return [self._daylight(_monday(day) + timedelta(days=number)) for number in range(_HOLDS_DAYS)]

    def _daylight(self, day: date) -> Daylight:
        assert self.light is not None
        assert self.light.share is not None
        return daylight(self.context.place, day, self.light.share, self.numbers.usual_share)


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())
