"""Windows of plants in pots that come once a season: the one that is open, or the next, as a task. Pure.

A pot's year hangs on a few days of the site: the accepted frost, the first frost, the day by which half of all years
have had frost. Only plants that have stood outside go by it; where half of all years have no frost nothing is taken to
rest unless it is logged, as a pot in leaf would dry out. Nights that kill roots have no dates, since a table knows one
threshold: entries count from the frosts it knows and say so. Windows are told half a year ahead.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from almanac.forecast.interval import is_act
from almanac.nursery.lots import Lot
from almanac.plain import dataclass
from almanac.plan.context.day import Context, holds, last_logged
from almanac.plan.context.growing import GrowingYear
from almanac.plan.context.tasks import days_round, lot_task
from almanac.plan.derivation import Derivation
from almanac.plan.model import Task
from almanac.rulebook.models import TaskRule


@dataclass(frozen=True, kw_only=True)
class PottedDay(Derivation):
    """A day of a pot's year: `days` after the day `since` (before it where below nothing); `of` is what that day is.

    `chances` are the frosts of that season: by chance that frost has come (in spring: is still to come), the day. They
    are nights at or below `threshold_c`, by the word of `source`.
    """

    of: str
    since: date
    day: date
    chances: tuple[tuple[float, date], ...]
    spring: bool
    threshold_c: float
    source: str
    roots_killed_c: float


AHEAD = timedelta(days=183)  # what comes later than in half a year is not told yet: by then most lots are sold


@dataclass(frozen=True, kw_only=True)
class Window:
    """Days of one season, and what they count from; `spring` says which of that season's frosts bear on them."""

    year: GrowingYear
    earliest: date
    due: date
    latest: date
    counted_from: str
    since: date
    spring: bool = False


def window(year: GrowingYear, rule: TaskRule, day: date, counted_from: str, *, spring: bool = False) -> Window:
    """The days that a rule gives round a day of a season."""
    opens, due, closes = days_round(rule, day)
    return Window(
        year=year, earliest=opens, due=due, latest=closes, counted_from=counted_from, since=day, spring=spring
    )


def carried_over(lot: Lot, year: GrowingYear) -> bool:
    """Whether it stood outside before a season's growth began: a plant of an earlier one."""
    return "outside" in lot.steps and lot.steps["outside"] < year.grows


def seasonal(context: Context, lot: Lot, name: str, course: Iterable[Window]) -> Iterator[Task]:
    """The window of a rule that is open or comes next within half a year; none once it was done or where it is barred.

    What had closed before the lot stood outside was not for it; what was open then opens on that day.
    """
    rule = context.rule(name, lot.crop)
    out = lot.since("outside") or date.min
    for each in course:
        if each.latest < max(context.as_of, out) or each.earliest > context.as_of + AHEAD:
            continue
        # What sends plants away is done once none is left.
        names = [name for name in (rule.logged_as, *rule.until) if not is_act(name)]
        done = max((day for name in names if (day := last_logged(lot, name))), default=None)
        if (done is None or done < max(each.earliest, out)) and holds(context, rule, each.due, lot.protected):
            yield _task(context, lot, rule, each, out)
        return


def _task(context: Context, lot: Lot, rule: TaskRule, each: Window, out: date) -> Task:
    year, frost, earliest = each.year, context.around.frost, max(each.earliest, out)
    derivation = PottedDay(
        of=each.counted_from,
        since=each.since,
        day=each.due,
        chances=year.spring if each.spring else year.autumn,
        spring=each.spring,
        threshold_c=frost.threshold_c,
        source=frost.source,
        roots_killed_c=context.book.crops[lot.crop].cold.roots_killed,
    )
    days = earliest, max(each.due, earliest), each.latest
    count = lot.count(rule.while_in) if rule.while_in else lot.total
    return lot_task(
        lot, rule, days, each.counted_from, each.since, count=count, step=year.number, derivation=derivation
    )
