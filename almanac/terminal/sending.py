"""When plants may be in the post here, and the public holidays on which no post goes. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from almanac.nursery.nursery import Nursery
from almanac.plan.context.site_days import site_day
from almanac.rulebook.models import SITE_DAYS, TaskRule
from almanac.site.holidays import public_holidays


def sending(nursery: Nursery) -> list[tuple[date, date]]:
    """When plants may be in the post, as spans apart from each other, the earliest first."""
    return _joined(_windows(nursery))


def next_holidays(nursery: Nursery) -> dict[date, str]:
    """The public holidays of the year to come, by day."""
    place, as_of = nursery.place, nursery.as_of
    return public_holidays(place.country, place.region, as_of, as_of + timedelta(days=365))


def within(found: date, seasons: Iterable[tuple[date, date]]) -> bool:
    """Whether a day is in one of some spans, both ends counted."""
    return any(first <= found <= last for first, last in seasons)


def _windows(nursery: Nursery) -> Iterator[tuple[date, date]]:
    """When plants may be in the post: the coming windows of the rules for selling, as far as the site alone dates them.

    Rooted plants can go from the day that frost is accepted; when they do, their own lots say.
    """
    sale, as_of = nursery.settings.sale, nursery.as_of
    for rule, _ in nursery.book.tasks().values():
        sells = rule.only_if.sells
        if rule.kind != "window" or rule.feed != "sales" or rule.scope == "nursery":
            continue
        if not sells or not sale.sells(sells):  # what is asked for whether or not it is sold tells of no post
            continue
        name = rule.after if rule.after in SITE_DAYS else "frost_accepted"
        opens, closes = _window(rule)
        base = site_day(name, as_of - closes, nursery.place, nursery.frost, nursery.settings, on_or_after=True)
        if base:
            yield max(base + opens, as_of), base + closes


def _joined(spans: Iterable[tuple[date, date]]) -> list[tuple[date, date]]:
    """The same days as spans apart from each other, the earliest first."""
    found: list[tuple[date, date]] = []
    for first, last in sorted(spans):
        if found and first <= found[-1][1] + timedelta(days=1):
            found[-1] = found[-1][0], max(found[-1][1], last)
        else:
            found.append((first, last))
    return found


def _window(rule: TaskRule) -> tuple[timedelta, timedelta]:
    return timedelta(days=rule.opens_day or 0), timedelta(days=rule.closes_day or 0)
