"""What cannot be kept, as a sentence with what can be done. Pure."""

from __future__ import annotations

from datetime import date

from almanac.plan.model import PlanWarning
from almanac.words.dates import weekday
from almanac.words.lots import named


def warning_text(warning: PlanWarning, near: date) -> str:
    """One warning as one line."""
    lots = named(warning.lots)
    bins = f" in bin {', '.join(warning.bins)}" if warning.bins else ""
    when = weekday(warning.day, near)
    if warning.kind == "away":
        return f"You are away on {when}, and looks cannot wait: ask someone to do the round{bins} ({lots})."
    if warning.kind == "missed":
        return f"No round can look at {lots}{bins} by {when}: ask someone, or come back sooner."
    title = warning.milestone.title.lower() if warning.milestone else "the next step"
    if warning.kind == "standstill":
        return f"{lots}: no date for '{title}', at its bin's present warmth nothing goes on; check the mat."
    return (
        f"{lots}: no date for '{title}', frost is never as unlikely as you accept; keep it under cover, or accept more."
    )
