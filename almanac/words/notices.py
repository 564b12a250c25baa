"""The sentences of what a command tells besides: what it set aside, what it left as it was, what to do next. Pure."""

from __future__ import annotations

from datetime import date
from typing import Final

from almanac.units import System, temperature
from almanac.words.dates import day
from almanac.words.sentences import Sentence, small


def _other_rows(file: str, count: int) -> str:
    if not count:
        return f"looks like another copy of {file} and has no row that it lacks; put it elsewhere"
    rows = f"{count} rows" if count > 1 else "a row"
    return f"looks like another copy of {file} and has {rows} that it lacks; log what is so, then put it elsewhere"


def _frost_may_come(lots: tuple[str, ...], chance: float, safe: date | None) -> str:
    until = f"; no likelier than you accept from {day(safe)}" if safe else ""
    return (
        f"{', '.join(lots)}: out for good, and a frost soon has a chance of {chance:.0%}{until}. Look at the forecast "
        "every evening: cover, or bring in"
    )


def _bed_freezes_hard(lots: tuple[str, ...], place: str, coldest: float, units: System, opens: date) -> str:
    return (
        f"{', '.join(lots)} in {small(place)}: soil here usually freezes hard, to about {temperature(coldest, units)} "
        f"(an estimate), and lifts sticks that have no roots. Firm them after every thaw until about {day(opens)}; "
        "wood still to be stuck is heeled in till then"
    )


def _bed_kills(lots: tuple[str, ...], place: str, crop: str) -> str:
    return (
        f"{', '.join(lots)} in {small(place)}: the winter here likely kills wood of {crop} out of doors; root it under "
        "cover"
    )


def stands_still(since: date | None, as_of: date) -> str:
    """What is said over the last plan while the nursery's own rules are at fault."""
    if since is None:
        return "Your own rules are at fault, and no calendar was written before. What you log is kept."
    return (
        f"Your own rules are at fault: this is the calendar as it was last written, for {day(since, as_of)}. What you "
        "log is kept, and counts once they are mended."
    )


# What a young nursery is to do next, each on one line of a terminal.
_FIRST_STEPS: Final[dict[str, Sentence]] = {
    "next_varieties": "write varieties into varieties.csv, as 1,Henhouse Ladder,fig",
    "next_lots": "log your first cuttings, as: stickdate log taken {number} --count 12",
    "next_calendar": "write the calendar for your phone: stickdate calendar",
    "next_phone": "put the calendar on your phone: stickdate serve --host 0.0.0.0",
    "next_subscribe": "subscribe to the calendar: stickdate serve --host 0.0.0.0",
    "next_looks": "been through {kind} {bin}? Log it: stickdate log looked --bin {bin}",
    "next_look": "looked at {lot}? Log it: stickdate log looked {lot}",
}
SENTENCES: Final[dict[str, Sentence]] = {
    **_FIRST_STEPS,
    "columns_later": "{file} has no columns {columns}, which came later; check --mend adds them",
    "columns_added": "Added to the first line of {file}: {columns}.",
    "schemas_older": "{files:, } are of another version than the program; check --mend writes them anew",
    "schemas_renewed": "Written anew: {files:, }.",
    "frost_may_come": _frost_may_come,
    "bed_freezes_hard": _bed_freezes_hard,
    "bed_kills": _bed_kills,
    "row_set_aside": "the logbook's last line was cut short; it was set aside: {text:.60}",
    "line_set_aside": "a last line was cut short; it was set aside: {text:.60}",
    "not_refreshed": "the calendar was not refreshed: {why}",
    "rules_wrong": "it stands still until your own rules are mended: {faults:; }",
    "looked_ahead": "{day} is to come",
    "changed_later": "it was last changed for {changed}",
    "perhaps_written": (
        "{file}: {why}; what was being logged may stand there all the same: look there before you log it again"
    ),
    "not_shown": "{rows:, } is logged; it could not be shown: {why}",
    "feed_not_whole": "is no whole calendar; it is made anew by: stickdate calendar",
    "left_behind": "a write that was cut off left this; remove it: stickdate check --mend",
    "keys_open": "others on this machine can read the keys; close it: stickdate check --mend",
    "removed": "removed {files}, which cut-off writes had left",
    "closed": "{file} is closed to others on this machine",
    "other_copy": "looks like a copy of a file of the nursery; take over what it alone says, then put it elsewhere",
    "other_rows": _other_rows,
    "no_rights": "may not be read or written by you; give yourself the right to it",
    "logged_to_come": "{row} was logged at {moment}, which is yet to come: is this machine's clock behind?",
    "no_page_for_codes": "tags have no code to scan, as no bench page is known: run stickdate serve and stickdate "
    "calendar once, or say --page ADDRESS",
    "tags_left_out": "no tags for {numbers}: protected, and varieties.csv names no licence to pass them on",
    "old_list": "the list for buyers there is as it was; --for-sale writes it anew",
}
