"""What is wrong with frost dates, and what to know of a frost table; the sentence of each kind. Pure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from almanac import units
from almanac.words.sentences import Sentence

# What an estimate from monthly lows was fitted to.
_GIVEN = {
    "default": "with the usual spread from day to day",
    "own": "with the place's own spread from day to day",
    "known": "fitted to the dates known of one season",
    "two_known": "fitted to the dates known of spring and autumn",
}


def _worked_out_from_lows(given: str, off_days: float) -> str:
    return (
        f"worked out from twelve monthly mean lows, {_GIVEN[given]}: a date is off by about {off_days:.0f} days "
        "in the mean, some by twice that; dates observed nearby are better"
    )


def _trend(season: str, years: int, later_days: float, last: int) -> str:
    name, way = ("last spring" if season == "spring" else "first autumn"), "later" if later_days > 0 else "earlier"
    return (
        f"the {name} frost of the last {years} years comes {abs(later_days):.0f} days {way} than in the "
        f'whole record: think of years = "{last - 29}-{last}"'
    )


def _too_few_years(years: int, season: str, fewest: int, left_out: tuple[tuple[int, tuple[int, int]], ...]) -> str:
    why = f"; {_years(left_out)}" if left_out else ""
    return f"only {years} years cover their {season} frosts, and {fewest} are needed{why}"


def _years(left_out: Sequence[tuple[int, tuple[int, int]]]) -> str:
    """`1998 (30 of 90 days missing) and 4 more`"""
    shown = [f"{year} ({missing} of {of} days missing)" for year, (missing, of) in left_out[:3]]
    more = f" and {len(left_out) - 3} more" if len(left_out) > 3 else ""
    return ", ".join(shown) + more


_INSTEAD = (
    "give dates of your own, or a record, or twelve monthly mean lows: ask the weather service or county extension "
    "office for those of your valley and height, or read a thermometer of lows each morning"
)


def _both(kilometres: float) -> str:
    """A distance told before it is known in which units."""
    return f"{units.distance(kilometres, 'metric')} ({units.distance(kilometres, 'us')})"


def _station_too_high(station: str, higher_m: float) -> str:
    way, far = ("higher" if higher_m > 0 else "lower"), abs(higher_m)
    heights = f"{units.quantity(far, 'elevation', 'metric')} ({units.quantity(far, 'elevation', 'us')})"
    return f"the best station, {station}, lies {heights} {way}; {_INSTEAD}"


def _station_never_freezes(station: str, distance_km: float) -> str:
    return (
        f"it does not freeze at the nearest station, {station}, {_both(distance_km)} away, which says nothing of your "
        "place; if you know that it never freezes there, write dates = { never = true }; else " + _INSTEAD
    )


def _no_station(wanted: str, near: str | None) -> str:
    hint = f"did you mean {near}?" if near else 'write "nearest" to have one chosen'
    return f"there is no station '{wanted}' in the table; {hint}"


def away(distance_km: float, system: units.System) -> str:
    """How far off a station is."""
    return f"{units.distance(distance_km, system)} away"


def higher(higher_m: float, system: units.System) -> str:
    """How much higher or lower a station lies."""
    if round(higher_m) == 0:
        return "as high as you are"
    return f"{units.quantity(abs(higher_m), 'elevation', system)} {'higher' if higher_m > 0 else 'lower'} than you"


_FAULTS: Final[dict[str, Sentence]] = {
    "frost_sources": 'has {given: and }; give exactly one of {known:, }, such as station = "nearest"',
    "no_frost_source": 'has no frost dates; give exactly one of {known:, }, such as station = "nearest"',
    "never_with_dates": "never = true says it does not freeze; take the dates away, or never",
    "without_frost_dates": (
        'needs last_spring and first_autumn, such as {{ "50%" = "04-17" }}, or never = true for no frost at all'
    ),
    "years_without_record": "years and last go with record; take them away",
    "years_and_last": "years and last contradict one another; keep one",
    "years_backwards": "years = {years!q} runs backwards; exchange the two",
    "threshold_outside_dates": ("threshold stands inside dates = {{ threshold = ..., ... }} where the dates are given"),
    "not_twelve_means": "has {values} values; write the mean of each month, January first",
    "not_twelve": "has {values} values; write that of each month, January first",
    "not_twelve_lows": "lows has {values} values; write the mean low of each month, January first",
    "not_twelve_sds": "daily_sd has {values} values; write that of each month, January first, or leave it out",
    "low_of_nowhere": "the mean low of {month!m} is {low_c:.1f} C, as it is nowhere on earth; check number and unit",
    "sd_of_nowhere": (
        "daily_sd of {month!m} is {sd_c:.1f} C, where daily lows spread by {low_c:g} to {high_c:g}; "
        "write their standard deviation, or leave daily_sd out"
    ),
    "lows_turned_round": (
        "lows has no winter about {winter!m}, as it is in the {southern!e}; "
        "let January stand first, or mend the latitude ({southern!l})"
    ),
    "known_wrong": "known {fact}",
    "known_misfit": (
        "known {season} {chance!%} does not fit the lows, even were they {farthest_c:g} C off; "
        "check the date, the unit of the lows, and that January stands first"
    ),
    "season_without_date": '{season} has no date; give one or more, such as "50%" = "{like!z:-}"',
    "impossible_chance": ('{season} {chance!%}: the chance must lie between 0% and 100%; write for example "10%"'),
    "no_such_day": (
        '{season} {chance!%} is {month_day!z:-}, which is no day of the year; write month and day, such as "04-17"'
    ),
    "out_of_season": (
        "{season} {chance!%} is {month_day!z:-}, out of season in the {southern!e}; "
        "write it under {other}, or mend the latitude ({southern!l})"
    ),
    "wrong_order": (
        "{season} {early!%} is {early_day!z:-} and {late!%} is {late_day!z:-}; "
        "{early!%} must be the earlier: swap or mend them"
    ),
    "in_record": "{file}: {fact}",
    "record_unreadable": lambda file, said: f"{file} cannot be read ({said.lower()}); check its path",
    "record_not_text": "{file} cannot be read (not a text or gzip file); check its path",
    "no_unit_of_record": "unit {unit!q} is not one of {known: | }",
    "line_of_other_station": "line {line} is of station {station}, the first of {first}; keep one",
    "not_a_dly_line": "line {line} is not as a .dly line is: '{text}'",
    "no_record": "begins '{begins}'; expected a .dly file, a CSV with DATE and TMIN, or one with date,low",
    "not_a_low": "row {row} has no date and number: '{text}'",
    "several_stations": "holds {count} stations ({stations:, }, ...); keep one",
    "no_lows": "holds no lows; is it the right file?",
    "lows_of_other_unit": (
        "the lows would run from {coldest_c:.0f} to {warmest_c:.0f} °C, on average {mean_c:.0f}: that cannot be; "
        "is the unit really {unit!q}?"
    ),
    "too_few_years": _too_few_years,
    "curve_without_days": "a curve needs two points or more, each on a later day than the one before",
    "curve_out_of_range": "the chances of a curve lie between 0 and 1",
    "curve_turning": "the chances of a curve only rise or only fall",
    "station_threshold": ("the shipped stations know 32 F (0 C) only; take threshold away, or give a record"),
    "no_station_near": lambda within_km: f"no station of the table lies within {_both(within_km)}; {_INSTEAD}",
    "station_too_far": lambda station, distance_km: (
        f"the nearest station, {station}, is {_both(distance_km)} away; {_INSTEAD}"
    ),
    "station_too_high": _station_too_high,
    "station_never_freezes": _station_never_freezes,
    "no_station": _no_station,
    "station_turned_round": "{station} lies in the other half of the earth, where the seasons are turned round",
    "station_always_freezes": "{station} has frost in every month in the table; " + _INSTEAD,
    "station_seldom_freezes": ("{station} freezes too seldom for dates in the table; give a record, or never = true"),
}
_NOTES: Final[dict[str, Sentence]] = {
    "worked_out_from_lows": _worked_out_from_lows,
    "years_without_frost": lambda share, off_share: (
        f"no frost in about {share:.0%} of years: a figure off by about {off_share * 100:.0f} points in the mean"
    ),
    "years_of_record": "{count} freeze years, {first} to {last}",
    "years_left_out": lambda season, left_out: f"left out for {season}: {_years(left_out)}",
    "trend": _trend,
    "station_without_dates": "its source gives no dates: frost comes in one year in ten at most",
    "single_date": lambda season, sd_days: (
        f"{season} has a single date: its other chances are taken from places whose frost ends or begins at that time, "
        f"where two years in three lie within {sd_days:.0f} days of the middle; give a second date, such as the 10% one"
    ),
    "dates_mirrored": "10% dates are mirrored from the 50 and 90% ones",
    "share_of_years": "frost comes in {share:.0%} of years",
    "km_away": lambda distance_km: away(distance_km, "metric"),
    "height_not_compared": "height not compared: give elevation under [site]",
    "higher_than_you": lambda higher_m: higher(higher_m, "metric"),
    "off_as_neighbours": (
        "dates of stations as far and as unlike in height are off by {off_days:g} days on average, and the careful "
        "dates lie so much wider; dates or a record of your own are better"
    ),
}
SENTENCES: Final = _FAULTS | _NOTES
# Those that may be told in the nursery's units, where these are known.
IN_OWN_UNITS: Final[dict[str, Callable[..., str]]] = {"km_away": away, "higher_than_you": higher}
