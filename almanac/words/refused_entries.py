"""The sentences of what cannot be logged, undone, promised or shipped; and those that the page says otherwise. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Final

from almanac.faults import Nearest, clipped
from almanac.nursery.order_rows import Form
from almanac.plan.room.placing import Seat
from almanac.plan.wood.forsale import Hold
from almanac.units import System, temperature
from almanac.words.for_sale import chance_told, held_back, sold_as
from almanac.words.law import NEEDS_PAPER_ON_PAGE
from almanac.words.log_faults import missing
from almanac.words.sentences import Sentence, listed, near_text


def _free_bins(seats: Sequence[Seat], units: System) -> str:
    """A bed is as warm as the day: nothing is said of that."""
    warm = {seat.bin: "" if seat.kind == "bed" else f" ({temperature(seat.base_c, units)})" for seat in seats}
    return listed(f"{seat.kind} {seat.bin}{warm[seat.bin]} has room for {seat.free}" for seat in seats)


def _sold_from(order: str, form: Form, stages: Sequence[str]) -> str:
    known = listed((f"--stage {stage}" for stage in stages), "or")
    return f"order {order} is for {sold_as(form)}, which are sold from {known}"


def _sold_from_on_page(order: str, form: Form, stages: Sequence[str]) -> str:
    return f"order {order} is for {sold_as(form)}, which are sold from stage {listed(stages, 'or')}"


def _promised_away(reserved: int, form: Form, number: str, orders: Sequence[str], sound: int) -> str:
    verb = "is" if reserved == 1 else "are"
    promised = f"{reserved} {sold_as(form, reserved)} of no. {number} {verb} promised (order {listed(orders)})"
    return f"{promised} and {sound} would be left to send"


def _promised(reserved: int, form: Form, number: str, orders: Sequence[str], sound: int) -> str:
    left = _promised_away(reserved, form, number, orders, sound)
    return f"{left}; for such an order: stickdate order --ship {orders[0]}; else log fewer, or add --force"


def _promised_on_page(reserved: int, form: Form, number: str, orders: Sequence[str], sound: int) -> str:
    left = _promised_away(reserved, form, number, orders, sound)
    return f"{left}; for such an order, name it as what they were sold for; else log fewer, or {_INSIST}"


def _unsold(form: Form) -> str:
    return f"nursery.toml says that no {sold_as(form)} are sold; write {form} = true under [sale] if they are"


def _unpromisable(
    free: int, form: Form, number: str, there: int, held: int, promised: int, planned: int, count: int
) -> str:
    """What there is, and where the rest has gone."""
    numbers = (there, "there"), (held, "held back"), (promised, "promised"), (planned, "planned to be stuck")
    parts = [f"{many} {what}" for many, what in numbers if many]
    found = f" ({listed(parts)})" if parts else ""
    left = f"{free or 'no'} {sold_as(form, free)} of no. {number}"
    return f"{left} can be promised{found}, not {count}; see stickdate forsale"


def _nothing_of_lot(lot: str, form: Form, number: str, near: Nearest) -> str:
    return f"lot '{clipped(lot)}' has no {sold_as(form)} of no. {number}{near_text(near) or '; see stickdate forsale'}"


def _too_few_sound(
    order: str, count: int, form: Form, number: str, sound: int, held: Sequence[tuple[str, Hold]], near: date
) -> str:
    why = f" ({'; '.join(f'{lot}: {held_back(hold, near)}' for lot, hold in held)})" if held else ""
    some = f"; a part of it: --count {sound}" if sound else ""
    return f"order {order} wants {count} {sold_as(form, count)} of no. {number} and {sound} can be sent{why}{some}"


def _too_few_of_number(
    number: str, there: int, lots: Sequence[tuple[str, int]], past: Sequence[str], count: int
) -> str:
    told = ", ".join(f"{lot} {each}" for lot, each in lots)
    old = f"; {listed(past)} is stuck only by its lot" if past else ""
    return f"{number} has {there} in store of this winter ({told}), {count} cannot be stuck{old}"


def _less_sure_than(order: str, count: int, number: str, by: date, chance: float) -> str:
    sure = chance_told(chance)
    wanted = f"order {order} waits for {count} of no. {number} by {by}"
    return f"{wanted}, then ready with a chance of {sure} only; log fewer, or "


def _less_sure(order: str, count: int, number: str, by: date, chance: float) -> str:
    return f"{_less_sure_than(order, count, number, by, chance)}add --force"


def _less_sure_on_page(order: str, count: int, number: str, by: date, chance: float) -> str:
    return f"{_less_sure_than(order, count, number, by, chance)}{_INSIST}"


def _not_ahead(number: str, count: int, by: date, free: int, chance: float) -> str:
    many = f"{free or 'no'} more {sold_as('rooted', free)} of no. {number}"
    sure = f"with a chance of {chance:.0%}"
    return f"{many} can be promised by {by} {sure}, not {count}; ask for fewer, or a later day"


_LOT_BY_LOT = " goes with one lot; log {what} lot by lot"


def _rows_missing_on_page(count: int, backup: str, rows: Sequence[str]) -> str:
    return f"{missing(count, backup, rows)}; nothing is lost: have the files checked and mended at the computer"


_ALL_OF_EACH = ", or leave the count out to mean all of each"
_NOT_THERE = "{lot!c}: there is no such lot {where}{known}"
_INSIST = "tick “all the same”"
_BIN_FULL = "{kind} {bin} has {places} places, {taken} of them taken: {more} more do not fit; {free}; log fewer, or "
_NO_ROOM = (
    "no {kind} has room for {count} of {crop}: {why}; log fewer, {kind!b} what is rooted, or name where they stand: "
)

SENTENCES: Final[dict[str, Sentence]] = {
    "void_not_logged": "to undo a row: stickdate undo, or stickdate undo ROW",
    "not_a_day_to_log": "{fact} (or today, yesterday, -3d)",
    "to_come": "{day} is after today, {today}; only what has happened is logged",
    "named_and_left_out": "name lots, or leave some out with --except; not both",
    "count_of_several": "--count" + _LOT_BY_LOT,
    "count_of_several_or_all": "--count" + _LOT_BY_LOT + _ALL_OF_EACH,
    "only_old_wood": "{number} has nothing in store of this winter that still keeps; {lots}: name the lot to stick it",
    "too_few_of_number": _too_few_of_number,
    "mother_unknown": "'{place!c}' is not a mother plant of {number} in nursery.toml{near}",
    "not_row_id": "'{word!c}' cannot be a row's id; take a letter but r, then 7 to 39 letters or digits",
    "nothing_logged": "the logbook is empty; there is nothing to undo",
    "rested_on": "{row} cannot be undone while {resting} rest on it ({why}); undo those first",
    "undone_already": "{row} is undone already, by {by}; to have it count again: stickdate undo {by}",
    "not_restored": "{row} cannot count again: {why}",
    "not_restored_beside": "{row} counts again only once these are undone: {resting} ({why})",
    "contradicts_later": "that day it would contradict what is logged after it: {fault}",
    # A round.
    "not_of_bin": "{what} is not logged of a bin; name its lots one by one",
    "only_looked_at_all": "--all goes with looked alone; say --bin BIN, or name the lots for {what}",
    "all_and_one_bin": "--all is every bin; leave out --bin, or --all",
    "left_out_of_what": "--except needs --bin or --all, such as: stickdate log {what} --bin A --except {lot}",
    "none_left": "no lot is left {where} on {day} to be logged as {what}",
    "not_there_to_leave_out": "--except " + _NOT_THERE,
    "in_bin": "in {kind} {bin}",
    "anywhere": "anywhere",
    "there_are": "; there are {lots}",
    # Bins.
    "free_bins": _free_bins,
    "no_other_bin": "no other {kind} has room",
    "no_bin_where_they_root": "none where they root has any",
    "some_bins_too_cold": "{why}; nothing roots at the present warmth of {bins}",
    "bin_named": "{kind} {bin}",
    "bin_full": _BIN_FULL + "add --force if they do stand there",
    "no_bin_has_room": _NO_ROOM + "--bin BIN, with --force where it is full, or --bin none",
    # Orders.
    "order_unknown": "there is no order '{order!c}'{near:; see stickdate order}",
    "order_for_other_number": "order {order} is for number {number}, and {lot} is of {other}",
    "order_placed_later": "order {order} was placed on {placed}; sold for it on {day} is before that",
    "order_of_other_form": _sold_from,
    "sold_beyond_order": "order {order} has {open} open; {count} cannot be sold for it",
    "promised_away": _promised,
    "ship_by_unreadable": "--ship-by {fact}",
    "ship_by_too_soon": "--ship-by {ship_by} is before {day}; an order is shipped after it is placed",
    "protected_not_ordered": "{number} ({name!c}) is protected: it may not be sold without its owner's leave, so it "
    "cannot be ordered; with that, name it as licence in varieties.csv",
    "protected_not_sold": "{number} ({name!c}) is protected: it may not be sold without its owner's leave; with that, "
    "name it as licence in varieties.csv, then log it",
    "form_not_sold": _unsold,
    "not_promisable": _unpromisable,
    "not_ahead": _not_ahead,
    "less_sure": _less_sure,
    "protected_not_shipped": "{number} is protected and may not be sold; stickdate order --cancel {order}",
    "nothing_open": "order {order} has nothing open: {shipped} shipped, {cancelled} cancelled",
    "shipped_beyond_order": "order {order} has {open} open; {count} cannot be shipped",
    "nothing_of_lot": _nothing_of_lot,
    "too_few_to_ship": _too_few_sound,
}

# What is said otherwise where an entry is tapped: the page has no options and no commands.
ON_THE_PAGE: Final[dict[str, Sentence]] = {
    "roots_elsewhere": "no method of {crop} roots in a {kind}, which {bin} is; name another place, or none",
    "no_commas": "its columns are not parted by commas; save it from the spreadsheet as CSV with commas",
    "table_not_utf8": "is not UTF-8 text; save it from the spreadsheet as CSV in UTF-8",
    "dates_of_a_spreadsheet": "{count} dates from here on are not written like {like}; write them so",
    "next_subscribe": "have the calendar on this phone, too",
    "next_varieties": "write varieties into varieties.csv in the nursery's folder, a line each: number, name, crop",
    "next_lots": "log your first cuttings: taken, the number (such as {number}), and how many",
    "next_look": "once you have looked at {lot}, log what you saw; dates go by it",
    "next_looks": "once you have looked through a {kind}, tap that all is well, or what you saw; dates go by it",
    "less_sure": _less_sure_on_page,
    "no_nursery": "the nursery's folder has no {settings}; put it back",
    "no_event": "'{what!c}' is not an event{near:; choose one of the list}",
    "no_lot": "there is no lot '{lot!c}'{near:; all of them stand under Lots}",
    "void_not_logged": "to undo a row, use the button beside it",
    "undone_already": "{row} is undone already, by {by}; where it stands in its history it can be made to count again",
    "named_and_left_out": "name lots, or leave some out; not both",
    "count_of_several": "a count" + _LOT_BY_LOT,
    "count_of_several_or_all": "a count" + _LOT_BY_LOT + _ALL_OF_EACH,
    "only_looked_at_all": "every bin at once goes with looked alone; say a bin, or name the lots for {what}",
    "all_and_one_bin": "every bin at once, or one bin; not both",
    "left_out_of_what": "{lot} can be left out of a bin, or of all bins; say which",
    "not_there_to_leave_out": _NOT_THERE,
    "bin_full": _BIN_FULL + _INSIST + " if they do stand there",
    "no_bin_has_room": _NO_ROOM + "a {kind}, ticking “all the same” where it is full, or no {kind}",
    "order_unknown": "there is no order '{order!c}'{near:; those that are open stand under Sale}",
    "order_of_other_form": _sold_from_on_page,
    "promised_away": _promised_on_page,
    "needs_paper": NEEDS_PAPER_ON_PAGE,
    # What is at fault in a file is mended at the computer.
    "not_an_id": "{given!v} is not an id; put back the one from your backup",
    "id_missing": "id is missing; put back the one from your backup",
    "order_of_protected": "order {order} is for {number}, which is protected and not to be sold; cancel it",
    "no_supply": "'{supply!c}' is not a supply{near}",
    "rows_missing": _rows_missing_on_page,
    "order_rows_missing": _rows_missing_on_page,
    "drifted": (
        "{kind} '{bin}', {what} = {now!q} changes nothing since the logbook has {logged} ({day}); log the change"
    ),
    # Where the nursery lies is nothing for a phone.
    "disk_full": "the disk of that computer is full: make room on it",
    "not_permitted": "the program may not read or write one of the nursery's files: give it the right to",
    "machine_failed": "that computer could not read or write one of the nursery's files",
    "busy": "another phone or command is writing and has not come to an end",
    "perhaps_written": "what was being logged may stand in the logbook all the same; sent again, it is logged once",
    # What only a form can be refused for.
    "no_row_named": "say which row to undo",
    "not_the_last": "{row} is not the last thing logged; undo it all the same?",
    "form_count": "count '{count!c}' is not a whole number; write digits alone",
    "form_too_long": "the {field} has {letters} letters; at most {most} go into one entry",
    "form_without_key": "this form has no key; open the page again and log it from there",
}
