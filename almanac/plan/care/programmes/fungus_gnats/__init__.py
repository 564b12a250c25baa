"""Against fungus gnats: looks, treatments as often as larvae ask for in that warmth, the day to say all clear. Pure.

A drench meets larvae only. So turns lie closer than the shortest larval stage at the warmth of the mix, by the fast
clock, and go on through one whole generation after the last adult seen, by the slow one. Shut bags get none.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta
from math import inf
from typing import assert_never

from almanac.forecast.generations import Clock, last_day_under
from almanac.forecast.model import Days
from almanac.plain import dataclass
from almanac.plan.care.programme import Programme
from almanac.plan.care.programmes.fungus_gnats.derivation import GnatDays, UnfitMix
from almanac.plan.care.programmes.fungus_gnats.outbreaks import Home, Outbreak, clock, outbreaks
from almanac.plan.care.proposal import Proposal
from almanac.plan.context.day import Context, last_logged
from almanac.plan.context.tasks import bin_look, days_round, lot_look
from almanac.plan.ids import EntryId
from almanac.plan.model import Look, PlanWarning, Task
from almanac.plan.spaces import Place
from almanac.rulebook.models import TaskRule
from almanac.rulebook.programmes.fungus_gnats import ANY_COLD, FungusGnats, TreatmentInterval
from almanac.rulebook.programmes.weaning import Weaning


def propose(context: Context) -> Proposal:
    """What each place with gnats asks for."""
    found = [_Care(context, outbreak) for outbreak in outbreaks(context)]
    return Proposal(
        tasks=tuple(task for care in found for task in (*care.acts(), care.clear())),
        looks=tuple(look for care in found for look in care.looks()),
        warnings=tuple(_unfit(found)),
    )


PROGRAMME = Programme(
    numbers=FungusGnats,
    propose=propose,
    derivations=(GnatDays, UnfitMix),
    reads=(Weaning,),
    follows="for_sale",
)


def _unfit(found: Sequence[_Care]) -> Iterator[PlanWarning]:
    """Where nematodes are the nursery's way and the mix is too hot or too cold for them."""
    for care in found:
        outbreak, way = care.outbreak, care.rules.nematodes
        unfit = [home for home in outbreak.homes if not _bears(way, home)]
        if care.context.around.settings.gnats.way == "nematodes" and unfit and outbreak.acted:
            worst = max(unfit, key=lambda home: max(home.now_c - way.high, way.low - home.now_c)).now_c
            lots = tuple(dict.fromkeys(home.lot.id for home in unfit))
            item = care.context.around.settings.bin_named(outbreak.bin)
            places = (Place(item.kind, item.name),) if item else ()
            figures = UnfitMix(mix_c=worst, low_c=way.low, high_c=way.high)
            yield PlanWarning(kind="refused", day=outbreak.acted.day, lots=lots, places=places, derivation=figures)


def _bears(way: TreatmentInterval, home: Home) -> bool:
    return way.low <= home.now_c <= way.high


@dataclass(frozen=True)
class _Care:
    """What one place with gnats asks for."""

    context: Context
    outbreak: Outbreak

    @property
    def rules(self) -> FungusGnats:
        return self.context.book.programme(FungusGnats)

    @property
    def fast(self) -> Clock:
        return clock(self.rules, self.rules.fast)

    def rule(self, name: str) -> TaskRule:
        """A rule of the programme; of a bin, unless the place is a lot by itself."""
        rule = self.context.book.task(name)
        return rule if self.outbreak.bin or rule.scope == "lot" else replace(rule, scope="lot")

    def looks(self) -> Iterator[Look]:
        """The card, and shut bags one by one, until all clear is due to be said."""
        outbreak, context, card = self.outbreak, self.context, self.rule("gnat_card_look")
        start, end = outbreak.last.day, outbreak.end + timedelta(days=self.rule("gnat_clear").closes_day or 0)
        if outbreak.bin:
            yield bin_look(context, outbreak.bin, card, start, end, "gnats")
        else:
            yield lot_look(context, outbreak.homes[0].lot, card, start, end, "gnats")
        for home in outbreak.homes:
            rule = self.rule("gnat_cull")
            shut = not home.in_pots and (home.open_since is None or home.open_since > context.as_of)
            until = min(end, home.shut_until or end)
            if shut and home.lot.method in rule.methods and until >= start + timedelta(days=rule.first_day or 0):
                in_bin = home.lot.bin
                yield lot_look(context, home.lot, rule, start, until, "gnats", bin_name=in_bin, count=home.count)

    def acts(self) -> Iterator[Task]:
        """What is done, the nursery's way, where as many were seen as ask for it; what cannot be drenched is dried."""
        way = self.context.around.settings.gnats.way
        if self.outbreak.acted is None:
            return
        match way:
            case "traps":
                yield self._traps(self.outbreak.last.day)
            case "larvicide":
                yield from self._drenched(self.rule("gnat_drench"), self.rules.larvicide)
            case "nematodes":
                yield from self._drenched(self.rule("gnat_nematodes"), self.rules.nematodes)
            case "drying":
                yield from self._dried_but(())
            case _:
                assert_never(way)

    def _drenched(self, rule: TaskRule, repeat: TreatmentInterval) -> Iterator[Task]:
        """Turns where they are borne; the others are dried."""
        treated = [
            home for home in self._unlocked if _bears(repeat, home) and not self._too_wet(home) and not _wilts(home)
        ]
        yield from self._turns(rule, repeat, treated)
        yield from self._dried_but(treated)

    @property
    def _unlocked(self) -> list[Home]:
        return [home for home in self.outbreak.homes if home.open_since]

    def clear(self) -> Task:
        """The day to say all clear, unless one is seen again; asked anew each week until it is said."""
        outbreak, rule = self.outbreak, self.rule("gnat_clear")
        days, week = days_round(rule, outbreak.end), timedelta(days=rule.again_days or 0)
        late = (self.context.as_of - days[2]).days
        if week and late > 0:
            days = days_round(rule, outbreak.end + -(-late // week.days) * week)
        return self._task(rule, outbreak.homes, days, "", outbreak.last.day)

    def _traps(self, day: date) -> Task:
        return self._task(self.rule("gnat_traps"), self.outbreak.homes, self._soon(day), "", day)

    def _soon(self, day: date) -> Days:
        return day, day, day + timedelta(days=self.rules.slack)

    def _dried_but(self, treated: Sequence[Home]) -> Iterator[Task]:
        """The others, when gnats were last seen, and again for those opened or potted after."""
        homes = [
            home for home in self._unlocked if home not in treated and not _wilts(home) and not self._too_dry(home)
        ]
        since = {home: max(self.outbreak.last.day, home.open_since or date.min) for home in homes}
        for number, day in enumerate(sorted(set(since.values())), 1):
            here = [home for home in homes if since[home] == day]
            yield self._task(self.rule("gnat_dry"), here, self._soon(day), str(number), day)

    def _too_wet(self, home: Home) -> bool:
        """Whether a bag is being dried out, so that no water may come to it."""
        return not home.in_pots and self.context.too_wet(home.lot)

    def _too_dry(self, home: Home) -> bool:
        return not home.in_pots and self.context.too_dry(home.lot)

    def _start(self, home: Home) -> date:
        return max(self._acted_day, home.open_since or date.min)

    def _turns(self, rule: TaskRule, repeat: TreatmentInterval, homes: Sequence[Home]) -> Iterator[Task]:
        """One after the other, each counted from the last that was logged, else from the last as planned.

        Those whose turn comes soon after that of others go with them, as sooner does no harm: so all keep step.
        """
        last = {home: self._treated(home) for home in homes}
        number = len({day for day in last.values() if day})
        pull = timedelta(days=(round(repeat.every) + 1) // 2)

        def span(home: Home) -> tuple[date, date]:
            since = last[home]
            if since is None:
                return self._start(home), self._start(home) + timedelta(days=self.rules.slack)
            every, gap = self._spacing(home, since, repeat)
            return since + timedelta(days=every), since + timedelta(days=gap)

        while homes:
            first = min(span(home)[0] for home in homes)
            if first > self.outbreak.end:
                return
            here = [home for home in homes if span(home)[0] <= first + pull and self._start(home) <= first]
            number += 1
            close = min(span(home)[1] for home in here)
            turn = self._task(rule, here, (first, first, close), str(number), self._acted_day)
            yield replace(turn, derivation=self._figures(here, repeat, first))
            last |= dict.fromkeys(here, first)

    @property
    def _acted_day(self) -> date:
        assert self.outbreak.acted is not None
        return self.outbreak.acted.day

    def _treated(self, home: Home) -> date | None:
        day = last_logged(home.lot, "treated")
        return day if day and day >= self._start(home) else None

    def _spacing(self, home: Home, day: date, repeat: TreatmentInterval) -> tuple[int, int]:
        """After how many days a turn comes again, and after how many at the latest."""
        last = last_day_under(self.fast.pace(home.warmth, day), self.fast.larva)
        gap = max(int(min((last - day).days if last else inf, repeat.at_most)), 1)
        return max(min(int(repeat.every), gap - self.rules.slack), 1), gap

    def _task(self, rule: TaskRule, homes: Sequence[Home], days: Days, step: str, since: date) -> Task:
        opens, due, closes = days
        name = EntryId(self.outbreak.place, rule.id, step)
        lots = tuple(dict.fromkeys(home.lot.id for home in homes))
        in_bin = rule.scope == "bin" or any(home.lot.bin == self.outbreak.bin for home in homes)
        return Task(
            id=name,
            rule=rule,
            lots=lots,
            earliest=opens,
            due=due,
            latest=closes,
            counted_from="gnats",
            since=since,
            bin=self.outbreak.bin if in_bin else "",
            count=sum(home.count for home in homes),
            step=step,
            derivation=self._figures(self.outbreak.homes),
        )

    def _figures(
        self, homes: Sequence[Home], repeat: TreatmentInterval | None = None, day: date | None = None
    ) -> GnatDays:
        outbreak, fast, slow = self.outbreak, self.fast, clock(self.rules, self.rules.slow)
        warmest = max(home.now_c for home in (homes if repeat else outbreak.homes))
        coldest = min(home.now_c for home in outbreak.homes)
        seen = outbreak.acted or outbreak.last
        figures = GnatDays(
            seen=seen.day,
            count=seen.count,
            act_at=self.rules.act_at.adults,
            last=outbreak.last.day,
            end=outbreak.end,
            cold=outbreak.cold,
            threshold_c=fast.threshold_c,
            warmest_c=warmest,
            coldest_c=coldest,
            fast_days=_days(fast.generation, fast, warmest),
            slow_days=_days(slow.generation, slow, coldest),
            fast_sum=fast.generation,
            slow_sum=slow.generation,
        )
        if repeat is None or day is None:
            return figures
        every, gap = min(self._spacing(home, day, repeat) for home in homes)
        bears = (repeat.low, repeat.high) if repeat.low > ANY_COLD else None
        larva = _days(fast.larva, fast, warmest)
        return replace(figures, larva_days=larva, every=every, gap=gap, bears_c=bears)


def _days(wanted: float, pace: Clock, degrees_c: float) -> float:
    """Days that so many degree-days take at a temperature, without end where nothing develops."""
    return wanted / pace.rate(degrees_c) if pace.rate(degrees_c) else inf


def _wilts(home: Home) -> bool:
    """Whether a bag is shut again for a while, as its leaves wilt."""
    return not home.in_pots and "wilt" in home.lot.troubles
