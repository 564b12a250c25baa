"""A day of a pot's year in words: its frosts, what the frost table cannot say, and how it was found. Pure."""

from __future__ import annotations

from collections.abc import Mapping

from almanac.plan.derivation import PottedDay
from almanac.units import System, temperature
from almanac.words.dates import day, days, weekday
from almanac.words.milestones import ANCHORS


def values(worked: PottedDay) -> Mapping[str, str]:
    """`frosts`: the chances and their days; `known`: that colder nights have no dates, where that is so."""
    return {"frosts": _frosts(worked), "known": _known(worked)}


def steps(worked: PottedDay, system: System) -> list[str]:
    """How the day was found."""
    away = (worked.day - worked.since).days
    what = ANCHORS.get(worked.of, worked.of.replace("_", " "))
    where = f"{days(abs(away))} {'after' if away > 0 else 'before'}" if away else "on"
    lines = [f"{weekday(worked.day)}: {where} {what}, {day(worked.since, worked.day)}."]
    if worked.chances:
        cold = f"nights at or below {temperature(worked.threshold_c, system)}"
        lines.append(f"{_frosts(worked)} ({cold}; {worked.source}).")
    return [*lines, *filter(None, [_known(worked)])]


def _frosts(worked: PottedDay) -> str:
    """`Frost by 5 Oct in 1 year of 10, by 18 Oct in 5, by 2 Nov in 9`; in spring, after those days."""
    word = "after" if worked.spring else "by"
    told = [f"{word} {day(when, worked.day)} in {chance * 10:.0f}" for chance, when in worked.chances]
    if not told:
        return "No frost date is known"
    years = [*told]
    years[0] += " of 10 years"
    return f"Frost {', '.join(years)}"


def _known(worked: PottedDay) -> str:
    """That the frost table says nothing of nights that kill roots."""
    if worked.roots_killed_c >= worked.threshold_c:
        return ""
    told = f"{worked.threshold_c * 9 / 5 + 32:.0f} F ({round(worked.threshold_c * 2) / 2:g} C)"
    return f"Your frost dates are of {told} nights: colder ones come later, how much they cannot say."
