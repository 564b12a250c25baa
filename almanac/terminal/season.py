"""The dormant season of every crop: its windows, its post days, and what comes of lots stuck in it. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from itertools import islice
from typing import TYPE_CHECKING, Any

from almanac.forecast.model import Milestone
from almanac.nursery.nursery import Nursery
from almanac.nursery.settings import WEEKDAYS
from almanac.plan.context.postdays import PostDay, PostDays
from almanac.plan.wood.bare import Collecting
from almanac.plan.wood.chill import TooMild, too_mild
from almanac.plan.wood.season import CropSeason, StoredWood
from almanac.plan.wood.sticking import LotToCome, Sticking
from almanac.terminal.encoded import Shape, band
from almanac.terminal.forsale import WOOD
from almanac.terminal.table import paragraph, table
from almanac.units import quantity, temperature
from almanac.words.dates import day, weekday, weekdays_short, winter
from almanac.words.season import bare, in_store, killing_nights, not_ready, not_sold, too_little_cold
from almanac.words.sentences import with_sign

if TYPE_CHECKING:
    from almanac.actions.season import SeasonReading

_POST_SHOWN, _POST_TOLD = 4, 10
_NOTHING = "–"
_TITLE = 13  # letters of a crop's name that leave room for its windows
_STEPS = {
    "leaves": "In leaf",
    "roots": "Roots",
    "lifted": "Lift",
    "potted": "Pot up",
    "set_out": "Harden",
    "outside": "Outside",
    "hardened": "Ready",
}


def season_text(found: SeasonReading) -> str:
    """The windows of every crop first, then post days, then each crop's lots to come."""
    nursery, crops = found.nursery, found.crops
    lines = paragraph(f"{nursery.name}: winter {winter(found.middle)}, shortest day {weekday(found.middle)}")
    if not crops:
        return "\n".join([*lines, "", *paragraph("No variety is in varieties.csv: add one, then ask again.")]) + "\n"
    header = ("", "Take wood", "Sell dormant", "Last post", "Stick", "Best")
    lines += ["", *table([_row(each, nursery) for each in crops], header), ""]
    for hindered, titles in _hindered(crops, nursery).items():
        lines += paragraph(f"{', '.join(titles)}: {hindered}.")
    for mild in filter(None, (too_mild(nursery.book.crops[each.crop], nursery.nights) for each in crops)):
        lines += paragraph(f"{too_little_cold(mild, nursery.units)}.")
    sells = nursery.settings.sale.dormant and not all(each.hindered for each in crops)
    if sells:
        lines += [*_post(nursery, crops, found.post), ""]
    for each in crops:
        lines += [*_crop(each, nursery, found.lots[each.crop]), ""]
    lines += paragraph(
        "Dates are likely ones (1 lot in 10 sooner to 9 in 10 by then); of windows that frosts end, the careful end. "
        "What frost does tonight only the forecast knows."
        + " Post: ask the plant health office about each new state or country first."
        * sells
    )
    return "\n".join(lines).rstrip() + "\n"


def _title(each: CropSeason, nursery: Nursery) -> str:
    return nursery.book.crops[each.crop].title


def _row(each: CropSeason, nursery: Nursery) -> tuple[str, ...]:
    as_of, sale = nursery.as_of, each.sale(sellable=_sells(each, nursery))
    first, best, last = each.sticks(as_of)
    take = each.take(sellable=_sells(each, nursery))
    return (
        _title(each, nursery)[:_TITLE],
        _window(take[0], take[2], as_of),
        _window(sale[0], sale[1], as_of) if sale else _NOTHING,
        day(sale[2]) if sale and sale[2] else _NOTHING,
        _window(first, last, as_of),
        day(best) if not each.stick.hindered and last >= as_of else _NOTHING,
    )


def _window(first: date, last: date, as_of: date) -> str:
    return f"over ({day(last)})" if last < as_of else f"{day(first)}-{day(last)}"


def _hindered(crops: Sequence[CropSeason], nursery: Nursery) -> dict[str, list[str]]:
    """What the climate does not allow, with the crops it is said of."""
    found: dict[str, list[str]] = {}
    for each in crops:
        sold = not_sold(each, nursery.as_of) if nursery.settings.sale.dormant else ""
        for text in filter(None, (sold, not_ready(each.stick))):
            found.setdefault(text, []).append(_title(each, nursery))
    return found


def _first_sale(crops: Sequence[CropSeason], as_of: date) -> date:
    return max(min((each.wood.opens for each in crops), default=as_of), as_of)


def _post(nursery: Nursery, crops: Sequence[CropSeason], post: PostDays) -> list[str]:
    """The next post days of the sale, the days that drop out, and what is known of cold."""
    if not post.weekdays:
        return paragraph("No post days: give post_days under [week] in nursery.toml.")
    first = _first_sale(crops, nursery.as_of)
    found = list(islice(post.upcoming(first), _POST_SHOWN))
    if not found:
        return paragraph("Post: no day in the coming year; look at post_days and away under [week] in nursery.toml.")
    days = ", ".join(_post_day(each, nursery) for each in found)
    lines = paragraph(f"Post on {weekdays_short(post.weekdays)}, {post.transit_days} days on the way. Next: {days}.")
    left_out = list(islice(post.left_out(first, found[-1].day), 3))
    if left_out:
        told = "; ".join(f"{weekday(each)}: {why or 'you are away'}" for each, why in left_out)
        lines += paragraph(f"Not on {told}.")
    system = nursery.units
    cold, warm = temperature(post.hold_below_c, system), temperature(post.hold_above_c, system)
    known = (
        "Usual nights are known here, days are not" if not found[0].unknown else "Usual nights and days are not known"
    )
    return [*lines, *paragraph(f"{known}: look at the forecast, and hold under {cold} or over {warm} at either end.")]


def _post_day(each: PostDay, nursery: Nursery) -> str:
    hold = ""
    if each.hold and each.low_c is not None:
        hold = f" (hold: usual night {temperature(each.low_c, nursery.units)})"
    return f"{weekday(each.day)}{hold}"


def _crop(each: CropSeason, nursery: Nursery, lots: Sequence[LotToCome]) -> Iterator[str]:
    collect, title = each.collect, _title(each, nursery)
    if lots:
        kind, name = each.stick.kind, each.stick.bin
        where = f"in {kind} {name}" if name else f"in no {kind}"
        yield f"{title}, {each.stick.count} cuttings {where}"
        names = dict.fromkeys(name for lot in lots for name in lot.shown)
        rows = [(_STEPS[name], *(_cell(lot.milestones.get(name)) for lot in lots)) for name in names]
        yield from table(rows, ("", *(_stuck_on(lot, each) for lot in lots)))
    else:
        yield f"{title}: it is too late to stick this winter's wood."
    if each.stick.ground and not each.stick.hindered:
        yield from paragraph(in_the_ground(each.stick, nursery), 2)
    for stored in each.store:
        protected = nursery.stock.lots[stored.wood.lot].protected
        told = in_store(stored, nursery.as_of, sells=nursery.settings.sale.dormant, protected=protected)
        yield from paragraph(told, 2)
    _, due, closes = each.take(sellable=_sells(each, nursery))
    if closes >= nursery.as_of:
        parts = [bare(collect), f"Best taken {collect.best}, about {day(due)}."]
        low, high = (round((each_end - each.wood.cut).days / 7) for each_end in each.wood.keeps)
        parts.append(f"Keeps {low} to {high} weeks in store.")
        if _sells(each, nursery) and not each.hindered and each.last_post and collect.opens < each.wood.cut_from:
            parts.append(f"To post till {weekday(each.last_post)}, cut from {day(each.wood.cut_from)} on.")
        parts.append(killing_nights(collect, nursery.units))
        yield from paragraph(" ".join(filter(None, parts)))


def _sells(each: CropSeason, nursery: Nursery) -> bool:
    """Whether dormant wood of a crop is sold: of protected varieties none is."""
    here = (variety for variety in nursery.varieties.values() if variety.crop == each.crop)
    return nursery.settings.sale.dormant and not all(variety.protected for variety in here)


def in_the_ground(stick: Sticking, nursery: Nursery) -> str:
    """The windows of a bed, that its soil is an estimate, and how deep and how far apart."""
    ground, as_of, system = stick.ground, nursery.as_of, nursery.units
    own = nursery.book.crops[stick.crop].method[stick.method].ground
    if ground is None or own is None:
        return ""
    told = [f"in autumn {_window(*ground.autumn, as_of)}"] if ground.autumn else []
    told += [f"at winter's end {_window(*ground.spring, as_of)}"] if ground.spring else []
    wait = " Soil here usually freezes hard: none is stuck in autumn, heel it in." if ground.heaves else ""
    # Told in inches, as a rule: to the whole centimetre, as a spade measures.
    cm = (own.depth, own.apart) if system == "us" else (round(own.depth), round(own.apart))
    depth, apart = (quantity(each, "length", system) for each in cm)
    return (
        f"Into the ground {' or '.join(told)}, when a spade of soil is neither frozen nor sticky: days by an estimate "
        f"of its warmth.{wait} {depth} deep, {apart} apart. " + with_sign(nursery.book.sources[own.source].title, ".")
    )


def _stuck_on(lot: LotToCome, each: CropSeason) -> str:
    named = {each.stick.latest: "last", each.stick.earliest: "first", each.stick.best: "best"}
    return f"stuck {day(lot.stuck)} ({named.get(lot.stuck, 'today')})"


def _cell(milestone: Milestone | None) -> str:
    days = milestone.days if milestone else None
    if days is None:
        return "not here"
    early, likely, late = days
    first = str(early.day) if (early.month, early.year) == (late.month, late.year) else day(early)
    return day(likely) if early == late else f"{day(likely)} ({first}-{day(late)})"


def season_json(found: SeasonReading) -> dict[str, Any]:
    nursery, middle, post = found.nursery, found.middle, found.post
    first = _first_sale(found.crops, nursery.as_of)
    return {
        "as_of": nursery.as_of,
        "season": {"id": str(middle.year), "name": f"winter {winter(middle)}", "shortest_day": middle},
        "crops": [_crop_json(each, nursery, found.lots[each.crop]) for each in found.crops],
        "post": {
            "weekdays": [WEEKDAYS[each] for each in post.weekdays],
            "transit_days": post.transit_days,
            "hold_below_c": round(post.hold_below_c, 1),
            "hold_above_c": round(post.hold_above_c, 1),
            "lows_known": bool(nursery.frost.lows_c),
            "next": _POST(islice(post.upcoming(first), _POST_TOLD)),
            "left_out": [
                {"date": each, "why": why or "away"}
                for each, why in post.left_out(first, first + timedelta(days=_POST_TOLD * 7))
            ],
        },
    }


_POST = Shape(PostDay, "date=day low_c:1 hold")
# The hours of cold that a winter here gives (null: not known), and those it wants.
_MILD = Shape(TooMild, "hours least=rule.hours_least most=rule.hours_most below_c=rule.below:1")
_COLLECT = Shape(
    Collecting,
    "strip_leaves=hang killing_c=grown.killed_c:1 killing_night killing_known=grown.known killing_estimate=estimated "
    "young_killing_c=young.killed_c:1 young_killing_night=young.careful unprotected",
)
_SELL = Shape(
    CropSeason,
    "opens=wood.opens closes=wood.closes last_post cut_from=wood.cut_from look_first_from=wood.look_first "
    "ended_by=wood.sale_ended_by",
)
_IN_STORE = Shape(
    StoredWood, "lot=wood.lot count=wood.count last_post best_stuck", best_stuck=lambda stored: stored.stick[1]
)
_STICK = Shape(
    Sticking,
    "earliest best latest by_autumn bin? count method windows",
    windows=lambda stick: [
        {"from": first, "to": last} for first, last in (stick.ground.windows if stick.ground else ())
    ],
)
_LOT = Shape(
    LotToCome,
    "stuck cut milestones",
    milestones=lambda lot: {name: band(found.days) for name, found in lot.milestones.items() if found.days},
)


def _crop_json(each: CropSeason, nursery: Nursery, lots: Sequence[LotToCome]) -> dict[str, Any]:
    collect, wood, stick = each.collect, each.wood, each.stick
    _, due, closes = each.take(sellable=nursery.settings.sale.dormant)
    low, high = (end - wood.cut for end in wood.keeps)
    return {
        "crop": each.crop,
        "leaf_fall": {**band(collect.leaf_fall), "logged": collect.leaf_fall_logged},
        "buds_swell": {**band(collect.buds_swell), "logged": collect.buds_logged},
        "collect": {"opens": collect.opens, "due": due, "closes": closes, **_COLLECT(collect)},
        "store": {
            "days": high,
            "early_days": low,
            "opens": collect.opens,
            "first_until": collect.opens + high,
            "last_until": collect.closes + high,
        },
        "sell": None if each.hindered else _SELL(each),
        "too_mild": _MILD(too_mild(nursery.book.crops[each.crop], nursery.nights)),
        "in_store": [_IN_STORE(here) | WOOD(here.wood) for here in each.store],
        "stick": _STICK(stick),
        "lots": _LOT(lots),
        "not_possible": [
            {"step": step, "reason": reason, "text": text}
            for step, reason, text in (
                ("sell", each.hindered, not_sold(each, nursery.as_of)),
                ("ready", stick.hindered, not_ready(stick)),
            )
            if reason
        ],
    }
