"""Frost on plants outside in words: tonight's question, what each kind bears, until when to look. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from almanac.nursery.lots import lot_order
from almanac.plan.care.programmes.frost_watch import FrostNear, Watched
from almanac.units import System, both_scales, temperature
from almanac.words.dates import day
from almanac.words.programmes import AnyWords, DerivationWords
from almanac.words.sentences import capital

_NAMED = 2  # lots that a locked phone has room for


def values(found: FrostNear) -> Mapping[str, str]:
    until, alike = day(found.until), _alike(found.watched)
    return {
        "frosts": _frosts(found),
        "until": until,
        "tonight": _tonight(found),
        "each": " ".join(_do(each, found, alone=len(alike) == 1) for each in alike),
        "why_till": "a later frost is rare" if found.season == "spring" else "pots should be in shelter",
    }


def steps(found: FrostNear, system: System) -> list[str]:
    lines = [f"{_frosts(found)} (nights at or below {temperature(found.threshold_c, system)}; {found.source})."]
    lines += [
        f"{', '.join(each.lots)}: {_what(each)} at {temperature(each.killed_c, system)}; act on a forecast under "
        f"{temperature(each.act_c, system)}, as on a clear night leaves and pots are colder than the air."
        for each in _alike(found.watched)
    ]
    end = (
        "a later frost then comes in no more than"
        if found.season == "spring"
        else "pots are sheltered by then; counted from"
    )
    return [*lines, f"Until {day(found.until)}: {end} {_years(found.rarely)}."]


def _alike(watched: Sequence[Watched]) -> list[Watched]:
    """Crops that bear the same together, so that it is said once."""
    same: dict[Watched, list[str]] = {}
    for each in watched:
        same.setdefault(replace(each, lots=(), crop=""), []).extend(each.lots)
    return [replace(each, lots=tuple(sorted(lots, key=lot_order))) for each, lots in same.items()]


def _tonight(found: FrostNear) -> str:
    act = max(each.act_c for each in found.watched)
    lots = [lot for each in found.watched for lot in each.lots]
    what = "shelter" if all(each.bears == "bare" for each in found.watched) else "cover"
    who = ", ".join(lots) if len(lots) <= _NAMED else f"{len(lots)} lots"
    return f"Ask someone tonight: {what} {who}?" if found.away else f"Below {both_scales(act)}: {what} {who}?"


def _do(each: Watched, found: FrostNear, *, alone: bool) -> str:
    killed, act, indoors = map(both_scales, (each.killed_c, each.act_c, each.act_c - found.fleece_c))
    if each.bears == "bare":
        told = f"roots in bare pots die at about {killed}: with a forecast under {act} they go into shelter."
    else:
        told = (
            f"new growth dies at about {killed}, hardened or not: with a forecast under {act} cover with fleece before "
            f"dark, under {indoors} bring in."
        )
    return capital(told) if alone else f"{', '.join(each.lots)}: {told}"


def _what(each: Watched) -> str:
    return "new growth dies" if each.bears == "leaf" else "roots in pots die"


def _frosts(found: FrostNear) -> str:
    word = "after" if found.season == "spring" else "by"
    told = [f"{word} {day(when)} in {_years(chance)}" for chance, when in found.frosts]
    return f"Frost {', '.join(told)}" if told else "Frost in every month"


def _years(chance: float) -> str:
    """`1 year of 2`, `1 year of 50`."""
    return f"1 year of {round(1 / chance)}"


WORDS: AnyWords = (DerivationWords(of=FrostNear, values=values, steps=steps),)
