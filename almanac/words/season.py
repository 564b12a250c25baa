"""The dormant season in words: where its dates come from, and which step the climate does not allow. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from almanac.plan.context.postdays import Border
from almanac.plan.wood.bare import Collecting
from almanac.plan.wood.season import Hindrance, Selling
from almanac.units import System, temperature
from almanac.words.dates import day, span

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def both_scales(celsius: float) -> str:
    """A temperature in both scales, as texts of rules have it: `25 F (-4 C)`."""
    return f"{celsius * 9 / 5 + 32:.0f} F ({celsius:.0f} C)"


def _cold(found: Collecting, system: System | None) -> str:
    return temperature(found.killing_c, system) if system else both_scales(found.killing_c)


def bare(found: Collecting) -> str:
    """From when wood is bare, as a sentence or two."""
    if found.leaf_fall_logged:
        return f"Leaves were down on {day(found.opens)}."
    if found.hang:
        return "No frost brings the leaves down in time: strip those that hang."
    early, likely, late = found.leaf_fall
    when = day(likely) if early == late else f"about {day(likely)} ({span(early, late)})"
    return f"Leaves down {when}: log leaf_fall."


def killing_nights(found: Collecting, system: System | None = None) -> str:
    """What is known of nights that kill bare wood; in both scales unless one is named."""
    cold = _cold(found, system)
    if not found.killing_known:
        return f"Bare wood dies under {cold}: your frost dates tell of no such nights, watch the forecast."
    if found.killing_night is None:
        return f"Bare wood dies under {cold}: such nights are rare here."
    when = day(found.killing_night)
    if found.unprotected:
        return f"Bare wood dies under {cold}, usually by {when}, before leaves are down: protect it till it is cut."
    return f"Bare wood dies under {cold}, usually from about {when}: cut before."


def not_sold(found: Selling, near: date) -> str:
    """Why dormant wood cannot be sold from here, empty where it can."""
    if found.hindered == "no_winter":
        return "no dormant sale: no winter here puts wood to rest by itself"
    if found.hindered == "does_not_keep":
        why = "may push in store" if found.ended_by == "buds" else "does not keep"
        when = day(found.opens, near)
        if found.before_cold:
            return f"no dormant sale: wood cut before killing nights {why} by {when}; protect plants and cut later"
        return f"no dormant sale: wood taken here {why} till {when}"
    if found.hindered == "no_post_day":
        return f"no dormant sale: no post day between {span(found.opens, found.closes, near)}"
    return ""


def not_ready(hindered: Hindrance | None, bin_name: str) -> str:
    """Why plants do not come to be hardened here, empty where they do."""
    if hindered == "never_safe":
        return "no hardening off: no weeks of the year are as safe from frost as you accept"
    if hindered == "standstill":
        where = f"bin {bin_name}" if bin_name else "no bin"
        return f"no rooting: {where} is too cold or too hot for it"
    return ""


def border_text(border: Border) -> str:
    """A caution for a parcel that crosses a border, empty for one that crosses none; never that it is allowed."""
    if not border:
        return ""
    where = "another country" if border == "country" else "another state or region"
    return (
        f"It goes to {where}: ask the plant health office at both ends first. It may need a certificate, a permit or "
        "a plant passport, and a quarantine may forbid it."
    )


def weekdays_short(found: Iterable[int]) -> str:
    """`Mon, Tue, Wed`."""
    return ", ".join(WEEKDAYS[each][:3] for each in found)
