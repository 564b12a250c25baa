"""How far bags and covers are open, by what was logged of them, and when the next step comes. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta

from almanac.forecast.model import Milestone
from almanac.nursery.lots import Cohort, Lot
from almanac.plain import dataclass
from almanac.plan.context.opening import Step
from almanac.rulebook.programmes.weaning import STEPS, Weaning


@dataclass(frozen=True, kw_only=True)
class Vent:
    """How far a bag or a cover is open: `done` steps that stand, since the day of what was logged last.

    `wilting` while it is set back and not said to be firm again; `closed_back` is the day of that.
    """

    done: int = 0
    since: date | None = None
    after: str = ""
    wilting: bool = False
    closed_back: date | None = None


def stand_of(cohort: Cohort, rules: Weaning) -> Vent:
    """How far some cuttings are aired: one step a day, and wilting that comes later than `holds` has other causes.

    In the bag the n-th step logged is the n-th. Under a cover, where steps are not asked for again, one logged is the
    one that was asked for on its day.
    """
    found, holds = Vent(), timedelta(days=rules.holds)
    for what, day in cohort.airing:
        last = found.since or cohort.since
        if what == "opened" and not (found.after == "opened" and found.since == day):
            passed = (day - cover_due(found, cohort.since, rules).day).days if _under_cover(cohort, day) else 0
            found = Vent(
                done=min(found.done + 1 + max(passed, 0) // round(rules.between), STEPS), since=day, after=what
            )
        elif what == "wilt" and day - last <= holds and not (found.wilting and found.since == day):
            found = Vent(done=max(found.done - 1, 0), since=day, after=what, wilting=True, closed_back=day)
        elif what == "all_clear" and found.wilting:
            found = replace(found, since=day, after=what, wilting=False)
    return found


def _under_cover(cohort: Cohort, day: date) -> bool:
    return cohort.stage == "pot" and day >= cohort.since


def least_aired(cohorts: Iterable[Cohort], rules: Weaning) -> tuple[Vent, date] | None:
    """The softest of a lot's cuttings, which the others wait for, and the day they came where they stand."""
    stands = [(stand_of(cohort, rules), cohort.since) for cohort in cohorts]
    return min(stands, key=lambda each: (each[0].done, -each[1].toordinal()), default=None)


def bags_of(lot: Lot, rules: Weaning) -> tuple[Vent, date] | None:
    return least_aired((cohort for cohort in lot.cohorts if cohort.stage == "rooting"), rules)


def cover_due(stand: Vent, potted_on: date, rules: Weaning, milestone: Milestone | None = None) -> Step:
    """The next step under a cover: after the last, and not at once after potting."""
    comes = Step(
        day=potted_on + timedelta(days=rules.after_potting), after="potted", since=potted_on, milestone=milestone
    )
    after = after_the_last(stand, rules) if stand.since else comes
    return max(comes, after, key=lambda each: each.day)


def after_the_last(stand: Vent, rules: Weaning) -> Step:
    """A step after the last one logged; after wilting, one closed back long enough and firm since the day before."""
    assert stand.since is not None
    between = timedelta(days=rules.between)
    if stand.closed_back is None:
        return Step(day=stand.since + between, after=stand.after, since=stand.since)
    return Step(
        day=max(stand.closed_back + between, stand.since + timedelta(days=1)), after=stand.after, since=stand.since
    )
