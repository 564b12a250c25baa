"""What is wrong with TOML, quantities and rule files; the sentence of each kind. Pure."""

from __future__ import annotations

from typing import Final

from almanac.faults import Nearest, clipped
from almanac.words.sentences import Sentence, listed, near_text, shown, small

_SLIPS = {
    "quote": "a quote is opened here and not closed",
    "value": "the value is no number, no date, not true or false, and not in quotes",
    "statement": "this is neither key = value nor [table]",
}
_EXPECTED = {
    "text": "a text; write it in quotes",
    "whole_number": "a whole number; write digits alone, without quotes",
    "number": "a number; write it without quotes, such as 12.5",
    "finite_number": "a number; write it in digits, such as 12.5",
    "truth": "true or false; write one of the two, without quotes",
    "list": "a list; write it in [ ]",
    "date": "a date; write it without quotes, such as 2027-03-14",
}
_FORMS = {
    "short_name": "a short name; write lower-case letters, digits and _ alone, a letter first, such as bag_look",
    "address": "the address of your bench page; write it whole, like http://shed.local:8765/, up to 60 characters",
    "bin_name": "a name to log by; write up to 20 letters, digits, - and _ alone, a letter first",
    "log": 'the way to log it; write for example "log looked {lot}"',
    "years": "of the form expected",
    "place_code": 'the code of a country or of its region; write for example "US" or "US-ME"',
}
_BOUNDS = {"gt": "more than", "ge": "at least", "lt": "less than", "le": "at most"}
_PLACES = {
    "crops": "a crop of the rules",
    "source": "a source in sources.toml",
    "taking_source": "a source in sources.toml",
    "cautions": "a caution in cautions.toml",
    "after": "something to count from",
    "until": "an event",
    "needs": "an event",
    "answers": "an event",
    "without": "an event",
    "waits_for": "a task",
    "settled_by": "a milestone or an event",
    "methods": "a method",
}


def _not_toml(slip: str, said: str) -> str:
    told = _SLIPS.get(slip) or small(said)
    return f"is not valid TOML: {told}; mend this line or the one above"


def _out_of_bounds(given: object, bound: str, limit: float) -> str:
    return f"{shown(given)} is out of range; it must be {_BOUNDS[bound]} {limit:g}"


def _named_nowhere(name: str, of: str, near: Nearest) -> str:
    return f"'{clipped(name)}' is not {_PLACES[of]}{near_text(near) or '; add it there, or name another'}"


def _misplaced(folders: tuple[str, ...], names: tuple[str, ...]) -> str:
    *most, last = [f"{name}/" for name in folders]
    known = f"{', '.join(most)} or {last}, or be named {' or '.join(f'{name}.toml' for name in names)}"
    return f"is not a rule file by its place; it must stand in {known}"


def _no_value(value: str, programme: bool, near: Nearest) -> str:
    what = "a value of a crop or of its programme" if programme else "a value of a crop"
    return f"'{{{clipped(value)}}}' is not {what}{near_text(near)}"


def _tasks_missing(tasks: tuple[str, ...]) -> str:
    names = listed(f"task '{name}'" for name in tasks)
    return f"needs {names} with worked = true, which its programme works out; put it back"


def _shares_not_one(whole: float, shares: tuple[tuple[str, float], ...]) -> str:
    told = ", ".join(f"{clipped(name)} {share:g}" for name, share in shares)
    return f"the shares come to {whole:.4g} ({told}); change them so that they come to 1"


_TOML: Final[dict[str, Sentence]] = {
    "toml_not_utf8": "is not UTF-8 text; save it in the editor as plain text, UTF-8",
    "not_toml": _not_toml,
    "toml_without_end": "is not valid TOML: too many digits or brackets; put back a good copy",
    "number_too_large": "the number is out of range; write one from -{most} to {most}",
    "missing": "is missing; add it",
    "table_missing": "is missing; add [{table}]",
    "list_missing": "is missing; add [[{table}]]",
    "no_key": "is not a key here{near}",
    "no_such_word": "{given!v} is not known{near}",
    "out_of_bounds": _out_of_bounds,
    "list_empty": "is empty; name at least one",
    "no_table": "{given!v} is not a table; write its keys under [{table}]",
    "table_for_list": "a single table is not a list; head each with [[{table}]]",
    "other_type": lambda given, expected: f"{shown(given)} is not {_EXPECTED[expected]}",
    "other_form": lambda given, form: f"{shown(given)} is not {_FORMS[form]}",
    "not_a_quantity": "{given!v} is not a {quantity}; write {like!q: or }",
    "no_unit": "{given!v} has no unit; write {like!q: or }",
    "other_unit": "{given!v}: '{unit}' is no unit of {quantity}; write {like!q: or }",
    "quantity_out_of_range": (
        "{given!v} is out of range; check number and unit, which must lie from {low!q} to {high!q}"
    ),
    "not_a_count": "{given!v} is not a number of pieces; write digits alone, such as 30",
    "less_than_nothing": "{given} is less than nothing; write how many there are, or 0",
}
_RULES: Final[dict[str, Sentence]] = {
    "misplaced": _misplaced,
    "other_id": "{given!v} is not the file's name; write id = {name!q}",
    "named_twice": "'{name!c}' is given twice in this file; give one of the two another {label}",
    "named_nowhere": _named_nowhere,
    "log_of_no_event": "'{what}' is not an event{near}",
    "task_elsewhere": "'{task}' is also in {file}",
    "day_of_a_lot": ("'{after!c}' is of a lot, and a task of the whole nursery has none; write one of {known:, }"),
    "day_of_the_nursery": (
        "'{after}' is a day of the whole nursery; write scope = \"nursery\" too, or count from another"
    ),
    "value_of_crop": "'{{{value}}}' is a value of a crop, and a bin holds several; write the value",
    "no_value": _no_value,
    "worked_by_none": "no programme works out '{task}'; take worked away and give its days",
    "tasks_missing": _tasks_missing,
    "milestone_twice": "'{milestone}' is a milestone of a care file too; name one of the two otherwise",
    "circle": "{milestones!a} count from one another in a circle; mend the after of one",
    "no_duration_at_all": (
        "no crop has a duration for it; add duration = {{ ... }} to the milestone, or "
        "[durations.{milestone}] to each crop"
    ),
    "no_duration": ("has no duration for '{milestone}', which method '{method}' needs; add [durations.{milestone}]"),
    "no_ground": (
        "does not say how it goes into a bed, as method '{method}' needs; add [method.{method}.ground] with season, "
        "depth, apart and source"
    ),
    "chill_without_air": "'{milestone}' does not follow the air, and chill is for buds; take the table away",
    "median_zero": 'median must be more than nothing; write for example "24 d"',
    "warmth_not_rising": "base, optimum_low, optimum_high and ceiling must rise in that order",
    "chilling_not_rising": "hours_least must be no more than hours_most",
    "keeps_not_rising": "keeps_low must be more than nothing and no more than keeps_high",
    "store_not_rising": "low must be no warmer than high",
    "light_beyond_a_day": "hours {hours:g} and dark {dark:g} come to more than a day; lower one of the two",
    "light_not_rising": "dli_low must be more than nothing and no more than dli_high",
    "finished_over_rooted": (
        "finished {finished:g} is more than rooted {rooted:g}, and none finishes without roots; both are shares of "
        "what was stuck: write finished as the less"
    ),
    "no_neck": "fill must be more than nothing and less than length, or no neck is left to tie",
    "width_zero": 'width must be more than nothing; write for example "4 in"',
    "two_ways_of_counting": "every_days goes with first_day, not with opens_day, due_day or closes_day",
    "longest_days_of_no_look": "only a look has longest_days; take it away or change kind",
    "longest_below_every": "longest_days must be every_days or more; raise the one or lower the other",
    "cannot_repeat": "only a look or a treat repeats; take every_days away or change kind",
    "look_without_days": "a look needs first_day and every_days",
    "task_without_days": "needs opens_day, due_day and closes_day (or first_day and every_days)",
    "days_not_rising": "opens_day, due_day and closes_day must rise in that order",
    "lasts_too_short": 'lasts must be a day at least; write for example "14 d"',
    "bag_too_short": (
        "the bag is too short for {crop}: its neck closes over cuttings of {longest} at most, and the shortest is "
        "{low}; take a longer bag, or less fill"
    ),
    "cutting_not_rising": "a cutting's length and thickness must rise from low to high; check the four",
    "no_node_above": "under leaves no node above the mix; it must be less than nodes",
    "law_of_no_place": 'neither to nor within says where it holds; write for example within = ["US-ME"]',
    "supply_unsaid": "'{supply!c}' is not a supply{near:; add [supply.{supply!c}]}",
    "mix_not_by_volume": 'is part of a mix and must be measured by volume; write measure = "volume" at the supply',
    "shares_not_one": _shares_not_one,
}
_PROGRAMMES: Final[dict[str, Sentence]] = {
    "steps_within_a_day": 'between must be a day or more; write for example "3 d"',
    "steps_on_one_day": "late must be less than between, or two steps of a lot could fall on one day",
    "cloth_no_lighter": "light = {light:g} keeps off no less than full = {full:g}; exchange the two",
    "hours_backwards": 'latest must come after earliest, by more than least, and before midnight; write "21 h"',
    "gone_backwards": "gone_at_most {gone_at_most:g} is less than gone; write at least {gone:g}",
    "driest_too_wet": (
        "driest {driest:g} is no less than what is left of the weight at the latest watering; "
        "write less than {latest:.2g}"
    ),
    "last_below_least": "last {last} is less than least; write at least {least}",
    "every_backwards": "every must be a day or more, and at_most no less",
    "low_above_high": "low must be below high",
    "stages_below_threshold": "fast and slow must hold above the threshold, where gnats develop at all",
    "stages_of_no_days": "fast and slow need more than nothing for each stage",
}
SENTENCES: Final = _TOML | _RULES | _PROGRAMMES
