"""How cuttings strike in a nursery, and how many to stick: takes what the grower asks, gives rates. Writes nothing."""

from __future__ import annotations

from almanac.faults import Fact, Refusal, nearest
from almanac.forecast.back_test import Tried, back_test
from almanac.forecast.outcomes import Aim, Outcome, outcomes
from almanac.forecast.strike import MOST, NumberToStick, Rate, RatePart, SeasonOf, parts, rates, sticking
from almanac.nursery.nursery import Nursery
from almanac.site.freeze_year import FreezeYear

Table = dict[RatePart, dict[Aim, Rate]]


def asked_for(nursery: Nursery, variety: str | None, crop: str | None, method: str | None) -> RatePart:
    """What the grower asks for; what is not said stays empty, but for a variety's crop. Raises Refusal."""
    number = (variety or "").lstrip("0")
    for what, name, known in (("crop", crop, list(nursery.book.crops)), ("method", method, list(nursery.book.methods))):
        if name is not None and name.lower() not in known:
            raise Refusal(Fact("not_in_rules", name=name, what=what, near=nearest(name, known)))
    if variety is not None and number not in nursery.varieties:
        raise Refusal(Fact("variety_unknown", variety=variety, near=nearest(number, nursery.varieties)))
    own = nursery.varieties[number].crop if number else ""
    if crop and own and crop.lower() != own:
        raise Refusal(Fact("variety_of_other_crop", number=number, own=own, crop=crop.lower()))
    return RatePart(crop=(crop or own).lower(), method=(method or "").lower(), number=number)


def no_such_way(nursery: Nursery, crop: str | None, method: str) -> Fact:
    """That there is no such method, or that it does not suit a crop; any crop grown where none is named."""
    book = nursery.book
    if method not in book.methods:
        return Fact("not_in_rules", name=method, what="method", near=nearest(method, list(book.methods)))
    crop = crop or next(iter(sorted({each.crop for each in nursery.varieties.values()})), "")
    return Fact("method_not_of_crop", crop=crop, method=method, known=tuple(book.crops[crop].methods))


def strike_table(nursery: Nursery, asked: RatePart) -> tuple[Table, list[Outcome]]:
    """Rates by crop, method, variety and season, and the outcomes they rest on; a crop without lots has the rule's."""
    season_of = _season_of(nursery)
    every = outcomes(nursery.stock.lots)
    crops = {variety.crop for variety in nursery.varieties.values()} | {asked.crop} - {""}
    lines = parts(every, season_of)
    covered = {(line.crop, line.method) for line in lines}
    usual = {crop: asked.method or _usual(nursery, crop) for crop in crops}
    lines += [RatePart(crop=crop, method=usual[crop]) for crop in sorted(crops) if (crop, usual[crop]) not in covered]
    if asked.number:
        wholes = [line.whole for line in lines if line == line.whole and line.method]
        lines += [
            RatePart(crop=line.crop, method=line.method, number=asked.number)
            for line in wholes
            if line.crop == asked.crop
        ]
    wanted = [line for line in dict.fromkeys(lines) if _answers(line, asked)]
    known = [found for found in every if _told(found, asked)]
    crop = nursery.book.crops
    found = {line: rates(line, every, crop[line.crop].strike_by(line.method), season_of) for line in wanted}
    return found, known


def _usual(nursery: Nursery, crop: str) -> str:
    return nursery.book.method_for(crop, nursery.settings.nursery.method)


def _answers(line: RatePart, asked: RatePart) -> bool:
    same = asked.crop in ("", line.crop) and asked.method in ("", line.method)
    return same and (not asked.number or line == line.whole or line.number == asked.number)


def _told(found: Outcome, asked: RatePart) -> bool:
    return asked.crop in ("", found.crop) and asked.method in ("", found.method) and asked.number in ("", found.number)


def share_of(nursery: Nursery, asked: RatePart) -> tuple[RatePart, Rate]:
    """What is believed of the share that finishes, of a part with its crop and method."""
    part = RatePart(crop=asked.crop, method=asked.method or _usual(nursery, asked.crop), number=asked.number)
    every, rule = outcomes(nursery.stock.lots), nursery.book.crops[part.crop].strike_by(part.method)
    return part, rates(part, every, rule, _season_of(nursery))["finished"]


def cuttings_for(nursery: Nursery, asked: RatePart, plants: int, chance: float) -> NumberToStick:
    """How many to stick of what is asked for. Raises Refusal."""
    if not asked.crop:
        raise Refusal(Fact("of_what"))
    part = RatePart(crop=asked.crop, method=asked.method or _usual(nursery, asked.crop), number=asked.number)
    rule = nursery.book.crops[part.crop].strike_by(part.method)
    found = sticking(part, plants, chance, outcomes(nursery.stock.lots), rule, _season_of(nursery))
    if found is None:
        raise Refusal(Fact("too_many_plants", most=MOST, plants=plants, chance=chance))
    return found


def forecasts_tried(nursery: Nursery, asked: RatePart) -> list[Tried]:
    """How forecasts would have done for what is asked for."""
    lots = nursery.stock.lots
    return [
        each
        for each in back_test(nursery)
        if asked.crop in ("", lots[each.lot].crop)
        and asked.method in ("", lots[each.lot].method)
        and asked.number in ("", lots[each.lot].number)
    ]


def _season_of(nursery: Nursery) -> SeasonOf:
    return FreezeYear(nursery.place.southern).start
