"""What the year brings at a site, on one screen and as JSON: frost, light, holidays. Pure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, datetime, timedelta
from typing import Any

from almanac import units
from almanac.alike import together
from almanac.nursery.nursery import Nursery
from almanac.rulebook.models import Crop
from almanac.site.frost import FrostTable
from almanac.site.light import clear_day, dli_mol, usual_mj
from almanac.site.place import Place
from almanac.site.sun import (
    CIVIL_TWILIGHT_DEG,
    HORIZON_DEG,
    SunDay,
    day_length_at,
    first_day_length_at_least,
    first_day_length_below,
    longest_day,
    shortest_day,
    sun_day,
)
from almanac.terminal.encoded import Shape
from almanac.terminal.sending import next_holidays, sending, within
from almanac.terminal.table import paragraph, paragraphs, table
from almanac.words.dates import day, days, days_to, span, weekday
from almanac.words.faults import fact_text, note_text
from almanac.words.sentences import listed, percent, percent_asked, small

_CHANCES = (0.90, 0.75, 0.50, 0.25, 0.10, 0.05)
_HOLIDAYS_SHOWN = 5
# Published freeze tables count a place as freezing every year from here on; below it, whether is asked before when.
_NEARLY_EVERY_YEAR = 0.98


def site_text(nursery: Nursery, accept: float) -> str:
    """The site as a person reads it, at most 80 wide.

    Args:
        nursery: as loaded; its `as_of` is today
        accept: the chance of a later frost that the grower accepts, 0 to 1
    """
    place, as_of, settings = nursery.place, nursery.as_of, nursery.settings
    position = units.position(place.latitude_deg, place.longitude_deg)
    height = units.quantity(place.elevation_m, "elevation", settings.nursery.units)
    where = ", ".join(part for part in (place.town, position, height, place.timezone) if part)
    lines = [f"{settings.nursery.name}, {weekday(as_of)} {as_of.year}", *paragraph(where), ""]
    lines += [*_frost(nursery, accept), ""]
    lines += [*_light(nursery), ""]
    lines += _holidays(nursery)
    return "\n".join(lines).rstrip() + "\n"


def _frost(nursery: Nursery, accept: float) -> list[str]:
    frost, as_of = nursery.frost, nursery.as_of
    threshold = units.temperature(frost.threshold_c, nursery.units)
    estimate = " (an estimate)" if frost.estimate else ""
    lines = paragraph(f"Frost: nights at or below {threshold}{estimate}. From: {frost.source}.")
    if frost.spring is None:
        return [*lines, *paragraph("It does not freeze here: there is no frost to wait for."), *_notes(nursery)]
    free = frost.frost_free_share
    if free is not None and free > 1 - _NEARLY_EVERY_YEAR:
        lines += paragraph(f"It freezes in {percent(1 - free)} of years; in {percent(free)} there is no such night.")
    chances = sorted({*_CHANCES, accept}, reverse=True)
    rows = []
    for words, date_for in (
        ("Spring: to come after", frost.date_for_spring),
        ("Autumn: come by", frost.date_for_autumn),
    ):
        dates = [date_for(chance, as_of.year) for chance in chances]
        rows.append([words, *(day(found) if found else "–" for found in dates)])
    lines += table(rows, header=["Chance of frost", *map(percent_asked, chances)], indent=2)
    if any("–" in row for row in rows):
        lines += paragraph("–: no date has that chance.", indent=2)
    return [*lines, *_season(frost), *paragraph(_accepted(nursery, accept)), *_notes(nursery)]


def _notes(nursery: Nursery) -> list[str]:
    return paragraphs((note_text(note, nursery.units) for note in nursery.frost.notes), lead="- ")


def _season(frost: FrostTable) -> list[str]:
    """How long it is from a last frost to the first one after it, where a record tells."""
    shortest, middle, longest = (frost.season_days(chance) for chance in (0.9, 0.5, 0.1))
    if middle is None:
        return []
    return paragraph(
        f"Days without frost: {shortest} or more in nine years of ten, {middle} in five, {longest} in one."
    )


def _accepted(nursery: Nursery, accept: float) -> str:
    """How long it is until the risk is one the grower accepts, or until it no longer is."""
    frost, as_of = nursery.frost, nursery.as_of
    safe = frost.first_safe_day(as_of, accept, 0)
    risk = percent_asked(accept)
    if safe is None:
        return f"The chance of a later frost is never as low as the {risk} you accept."
    until = _autumn_after(nursery, accept, safe)
    end = f"until {day(until, as_of)}, {days((until - safe).days)}" if until else "with no end in sight"
    if safe == as_of:
        return f"You accept {risk}: frost is no likelier than that today, and {end} from now."
    today = percent(frost.chance_after(as_of))
    left = days((safe - as_of).days)
    return f"You accept {risk}: from {day(safe, as_of)}, in {left} (today {today}), {end} later."


def _autumn_after(nursery: Nursery, accept: float, start: date) -> date | None:
    dates = (nursery.frost.date_for_autumn(accept, year) for year in (start.year, start.year + 1))
    return next((found for found in dates if found and found >= start), None)


def _light(nursery: Nursery) -> list[str]:
    place, as_of = nursery.place, nursery.as_of
    kind = "of a usual day, from your monthly means" if place.radiation_mj else "of a clear sky: usual days have less"
    lines = paragraph(
        "Light: hours of day from sunrise to sunset, and with civil twilight (sun above -6°), which plants that go by "
        f"day length respond to; photons (DLI, mol/m²) {kind}."
    )
    halves = [_half_month(nursery, date(as_of.year, month, first)) for month in range(1, 13) for first in (1, 16)]
    head = f"{'':6}  {'rises':>5} {'sets':>5}  {'day':>4} {'twil.':>5} {'mol':>5}"
    lines += [f"  {head}   {head}".rstrip()]
    lines += [f"  {left}   {right}" for left, right in zip(halves[:12], halves[12:], strict=True)]
    shortest, longest = shortest_day(place, as_of.year), longest_day(place, as_of.year)
    lines += paragraph(
        f"Shortest day {day(shortest)} ({_length(nursery, shortest)}), longest {day(longest)} "
        f"({_length(nursery, longest)})."
    )
    for hours, crops in together(_crops(nursery), lambda crop: crop.light.hours).items():
        lines += paragraph(_wanted(nursery, crops, hours))
    return lines


def _half_month(nursery: Nursery, found: date) -> str:
    place = nursery.place
    sun = sun_day(place, found)
    usual = usual_mj(place, found)
    light = clear_day(place, found).dli_mol if usual is None else dli_mol(usual)
    twilight = day_length_at(place, found, CIVIL_TWILIGHT_DEG)
    return (
        f"{day(found):>6}  {_clock(sun.sunrise):>5} {_clock(sun.sunset):>5}  "
        f"{sun.day_length_h:4.1f} {twilight:5.1f} {light:5.1f}"
    )


def _clock(moment: datetime | None) -> str:
    return (moment + timedelta(seconds=30)).strftime("%H:%M") if moment else "–"


def _length(nursery: Nursery, found: date) -> str:
    """`9 h 40 min`."""
    hours, minutes = divmod(round(sun_day(nursery.place, found).day_length_h * 60), 60)
    return f"{hours} h {minutes:02} min"


def _crops(nursery: Nursery) -> list[Crop]:
    """The crops that the nursery grows: of its lots, or while there are none of its varieties."""
    grown = {lot.crop for lot in nursery.stock.lots.values()} or {each.crop for each in nursery.varieties.values()}
    return [crop for crop in nursery.book.crops.values() if crop.id in grown]


def _wanted(nursery: Nursery, crops: Sequence[Crop], hours: float) -> str:
    """When the day is as long as crops want their light, by both ways to count a day."""
    place = nursery.place
    first, *others = [crop.title for crop in crops]
    who = listed([first, *(small(title) for title in others)])
    lead = f"{who} {'want' if others else 'wants'} {hours:g} h of light: "
    longest = longest_day(place, nursery.as_of.year)
    if long_enough(nursery, hours, CIVIL_TWILIGHT_DEG) is None:
        most, most_twilight = (day_length_at(place, longest, horizon) for horizon in (HORIZON_DEG, CIVIL_TWILIGHT_DEG))
        return f"{lead}no day is so long, {most:.1f} h at most, {most_twilight:.1f} h with twilight."
    sun, twilight = (_stretch(nursery, hours, horizon) for horizon in (HORIZON_DEG, CIVIL_TWILIGHT_DEG))
    return f"{lead}the day is so long {sun} from sunrise to sunset, {twilight} with twilight."


def _stretch(nursery: Nursery, hours: float, horizon_deg: float) -> str:
    found = long_enough(nursery, hours, horizon_deg)
    if found is None:
        return "never"
    first, last = found
    return f"from {span(first, last, nursery.as_of)}" if last else "all year"


def long_enough(nursery: Nursery, hours: float, horizon_deg: float) -> tuple[date, date | None] | None:
    """The first and last day, from today on, of the next stretch of days of at least so many hours.

    None where no day is so long; without a last day where every day is.
    """
    place, as_of = nursery.place, nursery.as_of
    first = first_day_length_at_least(place, hours, as_of, horizon_deg=horizon_deg)
    if first is None:
        return None
    below = first_day_length_below(place, hours, first, horizon_deg=horizon_deg)
    return first, below - timedelta(days=1) if below else None


def _holidays(nursery: Nursery) -> list[str]:
    place, as_of = nursery.place, nursery.as_of
    if not place.country:
        return paragraph("Public holidays are not known: [site] names no country.")
    found = next_holidays(nursery)
    seasons = sending(nursery)
    if seasons:
        when = listed(span(first, last, as_of) for first, last in seasons)
        lines = paragraph(f"No post on public holidays while you may be sending ({when}):")
        found = {each: name for each, name in found.items() if within(each, seasons)}
    else:
        lines = ["Next public holidays:"]
    rows = [(weekday(each, as_of), name) for each, name in list(found.items())[:_HOLIDAYS_SHOWN]]
    return [*lines, *(table(rows, indent=2) if rows else ["  none"])]


_PLACE = Shape(Place, "town latitude=latitude_deg longitude=longitude_deg elevation_m:1 timezone country region")
_FROST = Shape(FrostTable, "source estimate threshold_c")
_SUN = Shape(SunDay, "sunrise sunset day_length_h:4")


def site_json(nursery: Nursery, accept: float, *, every_day: bool) -> dict[str, Any]:
    """The same as one object; `days` are all of the year of `as_of`, or the 1st and 16th of its months."""
    place, as_of = nursery.place, nursery.as_of
    year = days_to(date(as_of.year, 1, 1), date(as_of.year, 12, 31))
    seasons = sending(nursery)
    return {
        "as_of": as_of,
        "place": _PLACE(place),
        "frost": _frost_json(nursery, accept),
        "light": "usual" if place.radiation_mj else "clear sky",
        "days": [_day_json(nursery, found) for found in year if every_day or found.day in (1, 16)],
        "shortest_day": shortest_day(place, as_of.year),
        "longest_day": longest_day(place, as_of.year),
        "crops": [_crop_json(nursery, crop) for crop in _crops(nursery)],
        "holidays": [
            {"date": found, "name": name, "sending": within(found, seasons)}
            for found, name in next_holidays(nursery).items()
        ],
    }


def _frost_json(nursery: Nursery, accept: float) -> dict[str, Any]:
    frost, as_of = nursery.frost, nursery.as_of
    safe = frost.first_safe_day(as_of, accept, 0)
    until = _autumn_after(nursery, accept, safe) if safe else None
    free = frost.frost_free_share

    def by_chance(date_for: Callable[[float, int], date | None]) -> dict[str, date | None]:
        return {f"{round(chance * 100)}": date_for(chance, as_of.year) for chance in sorted(_CHANCES)}

    return {
        **_FROST(frost),
        "last_spring": by_chance(frost.date_for_spring),
        "first_autumn": by_chance(frost.date_for_autumn),
        "season_days": {f"{round(c * 100)}": frost.season_days(c) for c in (0.1, 0.5, 0.9)}
        if frost.seasons_days
        else None,
        "frost_free_share": free if free is None else round(free, 4),
        "accept": accept,
        "accepted_spring": frost.date_for_spring(accept, as_of.year),
        "accepted_autumn": frost.date_for_autumn(accept, as_of.year),
        "safe_from": safe,
        "safe_until": until,
        "days_left": safe - as_of if safe else None,
        "chance_after_today": round(frost.chance_after(as_of), 4),
        "notes": [fact_text(note) for note in frost.notes],
    }


def _day_json(nursery: Nursery, found: date) -> dict[str, Any]:
    place = nursery.place
    sun, clear, usual = sun_day(place, found), clear_day(place, found), usual_mj(place, found)
    return {
        "date": found,
        **_SUN(sun),
        "civil_day_length_h": round(day_length_at(place, found, CIVIL_TWILIGHT_DEG), 4),
        "clear_mj_m2": round(clear.radiation_mj, 3),
        "dli_clear_mol": round(clear.dli_mol, 2),
        "dli_usual_mol": None if usual is None else round(dli_mol(usual), 2),
        "peak_clear_ppfd": round(clear.ppfd(clear.noon), 1),
    }


def _crop_json(nursery: Nursery, crop: Crop) -> dict[str, Any]:
    def stretch(horizon_deg: float) -> dict[str, date | None] | None:
        found = long_enough(nursery, crop.light.hours, horizon_deg)
        return dict(zip(("from", "to"), found, strict=True)) if found else None

    return {
        "crop": crop.id,
        "light_hours": crop.light.hours,
        "day_that_long": stretch(HORIZON_DEG),
        "civil_day_that_long": stretch(CIVIL_TWILIGHT_DEG),
    }
