"""The dormant season in words: where its dates come from, and which step the climate does not allow. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import assert_never

from almanac.plan.wood.account import SaleEnd, Until
from almanac.plan.wood.bare import Collecting
from almanac.plan.wood.chill import TooMild
from almanac.plan.wood.season import CropSeason, StoredWood
from almanac.plan.wood.sticking import Sticking
from almanac.units import System, both_scales, temperature
from almanac.words.dates import day, span, weekday


def _cold(celsius: float, system: System | None) -> str:
    return temperature(celsius, system) if system else both_scales(celsius)


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
    """What is known of nights that kill bare wood; in both scales unless one is named; empty where none need be told.

    Grown wood first, then young: which of them is spoken of is always said.
    """
    if found.sheltered:
        return "The plant is sheltered: nights outdoors do not end it."
    if not found.cold_told:
        return ""
    grown = f"{found.grown.of or 'Grown wood'} dies under {_cold(found.grown.killed_c, system)}"
    young = f"{found.young.of or 'Young wood'} dies under {_cold(found.young.killed_c, system)}"
    if not found.grown.known:
        return f"{grown}. {young}. How often that comes is not known here: watch the forecast."
    return f"{grown}{_of_grown(found)} {young}{_of_young(found)}"


def _of_grown(found: Collecting) -> str:
    night = found.grown.careful
    if night is None:
        return ": such nights are rare here."
    by = f"; one winter in ten has such a night by {day(night)}{' (estimate)' if found.estimated else ''}"
    if found.unprotected:
        return f"{by}, before leaves are down: shelter the plant till you cut."
    return f"{by}, the careful end: cut before." if found.before_cold else f"{by}."


def _of_young(found: Collecting) -> str:
    """Nothing to do where it is in danger only after the window."""
    night = found.young.careful
    if night is None or night > found.closes:
        return "."
    if night <= found.opens:
        return f", by {day(night)}, before leaves are down: shelter young plants."
    return f", by {day(night)}: cut that sooner."


def too_little_cold(found: TooMild, system: System) -> str:
    """That a crop does not get its rest here, and what may be done."""
    rule = found.rule
    wants = f"{rule.hours_least:,} to {rule.hours_most:,} h under {temperature(rule.below, system)}"
    gives = "gives less" if found.hours is None else f"gives about {found.hours:,}" if found.hours else "gives none"
    return (
        f"{found.title} wants {wants} to end its rest, and a usual winter here {gives}: buds open late, unevenly or "
        "not at all. Take a kind bred for mild winters, or give pots and wood cold before growth"
    )


def not_sold(found: CropSeason, near: date) -> str:
    """Why dormant wood cannot be sold from here and what would make it possible, empty where it can."""
    wood = found.wood
    match found.hindered:
        case "no_winter":
            return (
                "no dormant sale: no winter here puts wood to rest by itself; what comes in dormant is sold while it "
                "keeps"
            )
        case "does_not_keep":
            why = "may push in store" if wood.sale_ended_by == "buds" else "does not keep"
            when = day(wood.opens, near)
            if wood.before_cold:
                return (
                    f"no dormant sale: wood cut before killing nights {why} by {when}; protect plants and cut later, "
                    "or keep a colder store"
                )
            return f"no dormant sale: wood taken here {why} till {when}; a colder store would hold it longer"
        case "no_post_day":
            return f"no dormant sale: no post day between {span(wood.opens, wood.closes, near)}"
        case "never_safe" | "standstill" | "winter_kills" | None:  # they hinder plants, not wood
            return ""
        case _:
            assert_never(found.hindered)


# What ends its sale, and its time in store.
SALE_ENDS: Mapping[SaleEnd, str] = {
    "season": "Then the usual weeks for selling dormant wood are over.",
    "keeps": "Then the wood has been in store for as long as it keeps.",
    "buds": "Then buds likely swell in store, and soft buds break in the post.",
    "swollen": "Its buds are swelling: soft buds break in the post.",
}
STORE_ENDS: Mapping[Until, str] = {
    "keeps": "It keeps no longer.",
    "growth": "Plants outdoors are in leaf by then.",
    "swollen": "Its buds swell: it keeps for days only.",
    "heeled": "Heeled in, it keeps till buds swell out of doors and the bed takes no more.",
}


def in_store(found: StoredWood, as_of: date, *, sells: bool = True, protected: bool = False) -> str:
    """A lot in store as a line: until when it is sold, posted and worth sticking; nothing `protected` is sold."""
    wood, (_, best, last) = found.wood, found.stick
    said = f"{wood.lot} ({wood.count}), cut {day(wood.cut, as_of)}"
    if wood.past(as_of):
        return f"{said}: {past_range(wood.until, as_of)}."
    parts = ["protected, not for sale"] if sells and protected else []
    if sells and not protected and wood.opens <= wood.closes:
        post = f", last post {weekday(found.last_post, as_of)}" if found.last_post else ""
        look = f", looked at first from {day(wood.look_first, as_of)}" if wood.look_first <= wood.closes else ""
        parts.append(f"sold {span(wood.opens, wood.closes, as_of)}{post}{look}")
    if wood.seen != "sound" and wood.seen_on:
        parts.append(f"{wood.seen} since {day(wood.seen_on, as_of)}")
    return f"{said}: {'; '.join([*parts, f'best stuck {day(best, as_of)}, by {day(last, as_of)}'])}."


def past_range(until: date, as_of: date) -> str:
    """What is to be done with wood that no longer keeps."""
    return f"past its time {since_past_range(until, as_of)}"


def since_past_range(until: date, as_of: date) -> str:
    """The same, where it is said already that it is past its time."""
    return f"since {day(until, as_of)}: look, stick or throw out"


def not_ready(stick: Sticking) -> str:
    """Why plants do not come to be hardened here, empty where they do."""
    match stick.hindered:
        case "never_safe":
            return "no hardening off: no weeks of the year are as safe from frost as you accept"
        case "winter_kills":
            return "not in the open ground: the winter here likely kills its wood; root it under cover"
        case "no_winter":
            return "not in the open ground: no winter here puts it to rest"
        case "standstill":
            where = f"{stick.kind} {stick.bin}" if stick.bin else f"no {stick.kind}"
            return f"no rooting: {where} is too cold or too hot for it"
        case "does_not_keep" | "no_post_day" | None:  # they hinder a sale, not plants
            return ""
        case _:
            assert_never(stick.hindered)
