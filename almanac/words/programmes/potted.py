"""A day of a pot's year in words: its frosts, what the frost table cannot say, and how it was found. Pure."""

from __future__ import annotations

from collections.abc import Mapping

from almanac.plan.care.programmes.potted.windows import PottedDay
from almanac.units import System, both_scales, temperature
from almanac.words.dates import day, days, weekday
from almanac.words.milestones import ANCHORS
from almanac.words.programmes import AnyWords, DerivationWords


def values(found: PottedDay) -> Mapping[str, str]:
    """`frosts`: the chances and their days; `known`: that colder nights have no dates, where that is so."""
    return {"frosts": _frosts(found), "known": _known(found)}


def steps(found: PottedDay, system: System) -> list[str]:
    away = (found.day - found.since).days
    what = ANCHORS.get(found.of, found.of.replace("_", " "))
    where = f"{days(abs(away))} {'after' if away > 0 else 'before'}" if away else "on"
    lines = [f"{weekday(found.day)}: {where} {what}, {day(found.since, found.day)}."]
    if found.chances:
        cold = f"nights at or below {temperature(found.threshold_c, system)}"
        lines.append(f"{_frosts(found)} ({cold}; {found.source}).")
    return [*lines, *filter(None, [_known(found)])]


def _frosts(found: PottedDay) -> str:
    """`Frost by 5 Oct in 1 year of 10, by 18 Oct in 5, by 2 Nov in 9`; in spring, after those days."""
    word = "after" if found.spring else "by"
    told = [f"{word} {day(when, found.day)} in {chance * 10:.0f}" for chance, when in found.chances]
    if not told:
        return "No frost date is known"
    told[0] += " of 10 years"
    return f"Frost {', '.join(told)}"


def _known(found: PottedDay) -> str:
    """That the frost table says nothing of nights that kill roots."""
    if found.roots_killed_c >= found.threshold_c:
        return ""
    told = both_scales(found.threshold_c)
    return f"Your frost dates are of {told} nights: colder ones come later, how much they cannot say."


WORDS: AnyWords = (DerivationWords(of=PottedDay, values=values, steps=steps),)
