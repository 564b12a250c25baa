"""From a reading to what the bench page shows: today by bin, each lot in it, the week. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from almanac.actions.first_steps import next_step
from almanac.actions.look import Reading
from almanac.nursery.lots import Lot
from almanac.nursery.nursery import Nursery
from almanac.plain import dataclass
from almanac.plan.model import Line, Plan
from almanac.units import temperature
from almanac.web.choices import ButtonGroup, bin_choices, choices, stages_of, usual
from almanac.web.due import Asked, Due, of_line, of_round, of_task, round_lines, round_today
from almanac.words.dates import weekday
from almanac.words.faults import page_text
from almanac.words.foremost import left_overdue
from almanac.words.lots import next_words, place_and_count, status
from almanac.words.tasks import lots_of_line, minutes
from almanac.words.warnings import AWAY_ON_PAGE, near_warnings, warning_text

_DAYS = 7
_AT_HAND = 40  # open lots up to which each has its buttons on the bench, asked for today or not
_DONE_ON = {"next_subscribe": "/calendar", "next_lots": "/log"}


@dataclass(frozen=True, kw_only=True)
class Card:
    """One lot on the bench, with what is due of it and what is logged most of it; `asked` where it is to be visited.

    `groups` holds all that can be logged, on its own page alone.
    """

    lot: Lot
    name: str
    where: str
    going: str
    coming: str
    due: tuple[Due, ...]
    usual: ButtonGroup
    groups: tuple[ButtonGroup, ...]
    stages: tuple[str, ...]
    looked: bool
    asked: bool
    signs: bool


@dataclass(frozen=True, kw_only=True)
class BenchPlace:
    """A bin, or where `bin` is empty all that stands elsewhere; `quiet` where nothing is asked of it today."""

    bin: str
    title: str
    due: tuple[Due, ...]
    cards: tuple[Card, ...]
    warmth: str = ""
    group: ButtonGroup | None = None
    troubles: tuple[str, ...] = ()
    quiet: bool = False

    @property
    def looked(self) -> bool:
        return bool(self.cards) and all(card.looked for card in self.cards)

    @property
    def folded(self) -> bool:
        """Whether nothing is left to do: all was looked through, or nothing is asked today, and nothing is wrong."""
        well = not self.troubles and not any(card.lot.troubles for card in self.cards)
        return well and (self.looked or self.quiet)

    @property
    def for_signs(self) -> list[str]:
        """The lots that are looked through for signs today."""
        return [card.lot.id for card in self.cards if card.signs]

    @property
    def no_roots(self) -> list[str]:
        """The lots of which "all well" says that they have no roots yet."""
        return [card.lot.id for card in self.cards if card.signs and card.lot.bin and not _rooted(card.lot)]


@dataclass(frozen=True, kw_only=True)
class Bench:
    """Today, as the page shows it; with so many lots that it would be long, `at_hand` says which open in place."""

    headline: str
    places: tuple[BenchPlace, ...]
    others: tuple[Card, ...]
    open: tuple[Due, ...]
    overdue: tuple[str, ...]
    warnings: tuple[str, ...]
    at_hand: frozenset[str]
    next_step: str = ""
    next_page: str = ""  # where it is done, if on a page


def bench_of(reading: Reading) -> Bench:
    """Today's round by bin, every other lot after it."""
    plan, nursery = reading.plan, reading.nursery
    lines = round_lines(plan)
    asked = Asked(plan, lines)
    open_lots = [lot for lot in nursery.stock.lots.values() if not lot.closed]
    many = len(open_lots) > _AT_HAND
    cards = [card_of(reading, lot, asked) for lot in open_lots]
    elsewhere = _elsewhere(lines, cards, plan)
    on_it = {card.lot.id for card in elsewhere.cards}
    places = [_bin(reading, item.name, lines, asked, cards, many=many) for item in nursery.settings.places]
    told, where = _next(nursery)
    today = [each for each in plan.rounds if each.day == plan.as_of]
    return Bench(
        headline=_headline(plan),
        places=tuple(place for place in (*places, elsewhere) if place.cards or place.due),
        others=tuple(card for card in cards if not card.lot.bin and card.lot.id not in on_it),
        open=tuple(of_task(task, plan) for task in asked.windows if task.rule.scope != "bin"),
        overdue=tuple(f"{each.title}, {each.since}" for each in left_overdue(plan, today)),
        warnings=tuple(warning_text(warning, plan.as_of, AWAY_ON_PAGE) for warning in near_warnings(plan, 14)),
        at_hand=frozenset(card.lot.id for card in cards if card.asked or not many),
        next_step=told,
        next_page=where,
    )


def _next(nursery: Nursery) -> tuple[str, str]:
    """The next step of a young nursery, and the page on which it is done; empty where there is none."""
    step = next_step(nursery, by_phone=True)
    return (page_text(step), _DONE_ON.get(step.kind, "")) if step else ("", "")


def card_of(reading: Reading, lot: Lot, asked: Asked, *, whole: bool = False) -> Card:
    """One lot with what is asked of it; `whole` with all that can be logged of it."""
    plan, nursery = reading.plan, reading.nursery
    due = asked.due.get(lot.id, [])
    looked = lot.looked == plan.as_of
    names = [item.event for item in due if not (looked and item.event == "looked")]
    log = nursery.stock.bins.get(lot.bin)
    troubles = log.troubles if log else ()
    return Card(
        lot=lot,
        name=nursery.varieties[lot.number].name,
        where=place_and_count(lot, plan),
        going=status(lot, plan),
        coming=next_words(lot, plan),
        due=tuple(due),
        usual=usual(lot, names, troubles, plan.as_of),
        groups=tuple(choices(lot, names, len(nursery.settings.places), troubles, plan.as_of)) if whole else (),
        stages=tuple(stages_of(lot)),
        looked=looked,
        asked=bool(due or lot.troubles),
        signs=lot.id in asked.signs,
    )


def week_of(reading: Reading) -> list[tuple[str, list[Due]]]:
    """The next seven days, each with what falls on it."""
    plan = reading.plan
    found = []
    for number in range(_DAYS):
        when = plan.as_of + timedelta(days=number)
        items = [of_round(each) for each in plan.rounds if each.day == when]
        items += [of_task(task, plan) for task in plan.tasks if not task.in_round and task.due == when]
        found.append(("Today" if number == 0 else weekday(when, plan.as_of), items))
    return found


def _bin(
    reading: Reading, name: str, lines: Sequence[Line], asked: Asked, every: Sequence[Card], *, many: bool
) -> BenchPlace:
    plan, nursery, log = reading.plan, reading.nursery, reading.nursery.stock.bins[name]
    cards = tuple(card for card in every if card.lot.bin == name)
    of_bin = [of_line(line, plan) for line in lines if line.bin == name and not lots_of_line(line)]
    of_bin += [of_task(task, plan) for task in asked.windows if task.bin == name and task.rule.scope == "bin"]
    return BenchPlace(
        bin=name,
        title=nursery.settings.called(name),
        due=tuple(of_bin),
        cards=cards,
        warmth="" if log.outdoors else temperature(log.base_c[-1][1], nursery.units),  # a bed is as the day
        group=bin_choices(log.troubles),
        troubles=tuple(label.replace("_", " ") for label in log.troubles),
        quiet=many and not of_bin and not any(card.asked for card in cards),
    )


def _elsewhere(lines: Sequence[Line], every: Sequence[Card], plan: Plan) -> BenchPlace:
    """What today's round asks of lots in no bin, and of none."""
    lines = [line for line in lines if not line.bin]
    asked = {name for line in lines for name in lots_of_line(line)}
    cards = tuple(card for card in every if not card.lot.bin and card.lot.id in asked)
    due = tuple(of_line(line, plan) for line in lines if not lots_of_line(line))
    return BenchPlace(bin="", title="Elsewhere", due=due, cards=cards)


def _headline(plan: Plan) -> str:
    today = round_today(plan)
    if today is None:
        following = next((each.day for each in plan.rounds if each.day > plan.as_of), None)
        return "No round today" + (f"; the next is {weekday(following, plan.as_of)}" if following else "")
    return "Round done" if today.done else f"Round, about {minutes(today)} min"


def _rooted(lot: Lot) -> bool:
    """Whether roots were seen on it: on those still in the bag, where part of it was potted up."""
    sign = lot.signs.get("roots")
    return sign is not None and not (sign.potted and lot.count("rooting"))
