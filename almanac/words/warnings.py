"""What cannot be kept, as a sentence with what can be done. Pure."""

from __future__ import annotations

from datetime import date

from almanac.plan.model import PlanWarning
from almanac.words.dates import weekday
from almanac.words.lots import bins_named, named


def carried(warning: PlanWarning, near: date) -> str:
    """When a look that was missed is made instead, and what can be done sooner."""
    to = warning.carried_to
    if to is None or to == near:
        return "look today"
    return f"look on {weekday(to, near)}, or ask someone to look sooner"


def warning_text(warning: PlanWarning, near: date) -> str:
    """One warning as one line."""
    lots = named(warning.lots)
    bins = f" in {bins_named(warning.bins)}" if warning.bins else ""
    when = weekday(warning.day, near)
    if warning.kind == "away":
        where = bins_named(warning.bins) if warning.bins else lots
        what = f"to look at {where}" if warning.lots or warning.bins else "to do that day's round"
        return f"You are away on {when} and it cannot wait: ask someone {what} that day{f' ({lots})' if bins else ''}."
    if warning.kind == "missed":
        return f"No look logged{bins} on {when} ({lots}): {carried(warning, near)}."
    title = warning.milestone.title.lower() if warning.milestone else "the next step"
    if warning.kind == "standstill":
        return f"{lots}: no date for '{title}', at its bin's present warmth nothing goes on; check the mat."
    return (
        f"{lots}: no date for '{title}', frost is never as unlikely as you accept; keep it under cover, or accept more."
    )
