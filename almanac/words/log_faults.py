"""What is wrong with varieties, the logbook and what is replayed of it, orders; the sentence of each kind. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from almanac.faults import Nearest, clipped
from almanac.words.left_out import left_out
from almanac.words.sentences import Sentence, near_text

_EXAMPLES = {"temperature": "78 F", "hours": "16 h", "mass": "412 g", "date": "2026-02-24"}


def _needs_value(what: str, value_kind: str) -> str:
    example = _EXAMPLES.get(value_kind)
    return f"{what} needs a value" + (f', such as "{example}"' if example else "")


def _count_unreadable(given: str, meant: int | None) -> str:
    return f"count '{clipped(given)}' is not a whole number; write {'digits alone' if meant is None else meant}"


def _no_rule_file(crop: str, near: Nearest) -> str:
    return f"'{clipped(crop)}' is not a crop with a rule file{left_out(crop) or near_text(near)}"


def missing(count: int, backup: str, rows: Sequence[str]) -> str:
    """Which rows of a copy are not in its file: `3 rows of logbook.backup.csv are missing (r7, r8, r9)`."""
    lost = f"{count} rows of {backup} are missing" if count > 1 else f"a row of {backup} is missing"
    return f"{lost} ({', '.join(rows)})"


def _rows_missing(count: int, backup: str, rows: Sequence[str]) -> str:
    return f"{missing(count, backup, rows)}; put back what is lost: stickdate check --mend"


_TABLES: Final[dict[str, Sentence]] = {
    "table_not_utf8": "is not UTF-8 text; have it read and written so: stickdate import {file}",
    "varieties_missing": "is missing; put it back, or begin anew with a first line: number,name,crop",
    "no_header": "is empty; its first line must be: {columns:,}",
    "no_commas": "its columns are not parted by commas; have it read and written so: stickdate import {file}",
    "no_such_table": "is no table of {columns: or }; its first line must name columns, such as: date,what,lot,count",
    "dates_contradict": "dates on lines {lines} are written in two orders of day and month; write all in one",
    "dates_in_doubt": (
        "{file}:{line}: '{cell!c}' may be written day first or month first; say which: --dates day-first, or "
        "--dates month-first"
    ),
    "column_lacking": "{file} has no column '{column}'; add it to its first line, then import again",
    "not_a_column": "'{column!c}' is not a column{near}",
    "column_twice": "column '{column}' is given twice; rename one, or take it away",
    "no_column": "has no column '{column}'; the first line must be: {columns:,}",
    "too_many_cells": "has {cells} cells where the header names {columns}; put text with commas in quotes",
    "other_line_ends": "has line ends of another kind in this row; save the file anew as CSV UTF-8",
    "endless_cell": "has a cell without end; look for a quote that is opened and never closed",
    "quote_open": "a quote is opened here and never closed; close it, or take it away",
    "quote_in_quotes": 'a quote stands inside quoted text here; write it twice (""), or take it away',
    "number_unreadable": "number '{given!c}' is not a whole number from 1 to 999999; give the variety one",
    "number_taken": "number {number} is already '{name!c}'; give this one another",
    "no_rule_file": _no_rule_file,
    "price_unreadable": "{column} '{given!c}' is not a sum; write it like 4.50 or $4.50, or leave it blank",
    "neither_yes_nor_no": "protected '{given!c}' is neither yes nor no; write one, or leave it blank",
    "wanted_unreadable": "wanted '{given!c}' is not a number of cuttings; write digits alone, or leave it blank",
    "not_a_date": "'{given!c}' is not a date; write it like {like}",
    "dates_of_a_spreadsheet": (
        "{count} dates from here on are not written like {like}; have them read and written so: stickdate import {file}"
    ),
    "year_out_of_range": "{day} is not in the years {first} to {last}; check the year",
    "count_unreadable": _count_unreadable,
    "in_column": "{column} {fact}",
}
_ROWS: Final[dict[str, Sentence]] = {
    "row_to_come": "'{day}' is after today, {today}; only what has happened is logged",
    "id_twice": "id '{id!c}' is also on line {line}; give this row another",
    "id_without_letter": "id '{id!c}' must start with a letter, such as {like}",
    "no_event": "'{what!c}' is not an event{near:; all of them: stickdate log --list}",
    "not_a_lot": "'{lot!c}' is not a lot; a lot is a number and a letter, such as 7a",
    "no_stage": "'{stage!c}' is not a stage{near}",
    "count_too_large": "count {count} is more than {most}; check the digits",
    "too_many_letters": "a cell has {letters} letters; write at most {most}",
    "count_zero": "count is 0; write how many, or nothing for all",
    "takes_none": "{what} takes no {column}; leave it out",
    "takes_no_bin": "{what} takes no bin; leave it out",
    "no_bin_beside_lot": "{what} takes no bin beside a lot; leave it out",
    "job_of_other_stage": "{what} is logged of {stages: or }, not of {stage}",
    "needs_count": "{what} needs a count; add how many",
    "needs_bin": "{what} needs a bin, such as A",
    "needs_row": "{what} needs refers: the row it undoes",
    "needs_other_lot": "{what} needs refers: the other lot",
    "needs_variety": "{what} needs a variety's number, such as 7",
    "needs_lot": "{what} needs a lot, such as 7a",
    "needs_lot_or_bin": "{what} needs a lot or a bin, such as 7a or A",
    "needs_crop": "{what} needs a crop in value, such as fig",
    "needs_value": _needs_value,
    "takes_no_value": "{what} takes no value; put '{value!c}' into note",
    "no_such_value": "'{value!c}' is not a value of {what}{near}",
    "void_of_later": "row '{row!c}' undoes another and stands no higher; it is undone by a row beneath it",
    "no_row": "there is no row '{row!c}' to undo{near}",
    "torn_row": "the last line was cut short ('{text:.40}'); the next log sets it aside in {aside}",
    "back_as_other": "{row} is another row here than in the copy, whose row goes back as {now}",
    "back_undone": (
        "{row} of the copy no longer fits what is logged: it goes back as {now}, undone at once; log anew what is so"
    ),
    "undo_left_out": "{row} of the copy undoes what other rows rest on; it is left out",
    "row_changed": "{row} was changed after it was logged ({cells}); check --mend changes the copy, too",
    "cell_changed": "{column} {was!v} to {now!v}",
    "copy_damaged": "line {lines} cannot be read as a row ({count} in all); write it anew: stickdate check --mend",
    "rows_wait": "rows of days to come ({rows:, }) wait here until then; is the clock right?",
    "logbook_gone": "is away, and {backup} with it; put back one of them from where you keep copies",
    "no_rows_any_more": "it has no row, and the calendar was made from some; put it back, or to begin anew "
    "remove the folder {calendar}",
    "rows_missing": _rows_missing,
}
_REPLAY: Final[dict[str, Sentence]] = {
    "no_lot": "there is no lot '{lot!c}'{near:; see stickdate lots}",
    "no_lot_yet": "there is no lot '{lot}' yet on {day}; check the date",
    "before_its_start": "{lot} started on {started}; {what} on {day} is before that",
    "lot_closed": "{lot} has no cuttings left; {what} cannot be logged of it",
    "no_variety": "variety '{number!c}' is not in varieties.csv{near:; add it there first}",
    "no_shelter": "there is no shelter '{shelter!c}'{near:; add a [[shelter]] to nursery.toml}",
    "no_bin": "there is no bin '{bin!c}'{near:; add a [[bin]] to nursery.toml}",
    "roots_elsewhere": "no method of {crop} roots in a {kind}, which {bin} is; name another place, or --bin none",
    "place_of_other_kind": "{method} roots in a {wanted}, and {bin} is a {kind}; name another place",
    "in_no_bed": "{lot} roots by {method}, in no bed; log potted, or what became of it",
    "bin_without_lots": "no lot is rooting in {kind} {bin} on {day}",
    "takes_from_other": "{what} takes from {stages: or }, not from {stage}",
    "stage_in_doubt": "{lot} has {held!h}; say from which stage: {stages: or }",
    "none_in_stage": "{lot} has {held!h} and none {stages!p: or }; none can be {what!d}",
    "too_few": "{lot} has {there} {stage!p}; {wanted!n} cannot be {what!d}",
    "lot_of_other_number": "'{lot!c}' is not a lot of number {number}; leave it out to get the next letter",
    "lot_exists": "lot {lot} exists already, since {started}; a lot's id is never reused",
    "not_planned": "'{row!c}' is not a planned lot of number {number}",
    "no_method": "'{method!c}' is not a method{near}",
    "none_in_store": "no lot of number {number!c} is in store on {day}; log taken or received first",
    "cannot_be_joined": "{lot} and {other} are not two lots of one variety and date; only such lots can be joined",
    "counted_without_reason": "counted needs the reason in value or note",
    "counted_without_stage": "{lot} has no cuttings left; say in which stage the {count} were found",
    "nothing_to_cut_up": "{lot} has {held!h} and none {stage!p}; there is nothing to cut up",
    "cut_up_to_fewer": "{lot} has {there} {stage!p}; cut up they are more, not {count}: write the new count",
    "nothing_rooting": "{lot} has nothing rooting; only rooting lots stand in bins",
    "sign_of_none": "{lot} has none {stages!p: or }; {what} cannot show",
    "sign_of_too_many": "{lot} has {there}; {what} cannot show on {count}",
    "no_crop": "'{crop!c}' is not a crop{near}",
    "job_of_none": "{lot} has none {stage!p}; {what} cannot be logged of it",
    "planned_backwards": "planned for {day}, which is before {planned_on}, the day it was planned",
    "planned_too_far": "planned for {day}, more than ten years after {planned_on}; check the year",
}
_ORDERS: Final[dict[str, Sentence]] = {
    "order_unnumbered": "has no order's number; write one that no other has, such as 12",
    "not_an_order": "order '{order!c}' is not an order's number; write one such as 12, letters, digits, - and _ alone",
    "no_form": "'{form!c}' is not a form{near}",
    "count_out_of_range": "count {count} is not from 1 to {most}; check the digits",
    "shipped_before_order": "ship_by {ship_by} is before {ordered}, the day it was ordered; check both",
    "done_unknown": "done '{done!c}' is not known{near}",
    "done_no_day": "done '{done!c}' is neither a day nor cancelled; write the day it was shipped, such as {like}",
    "reopened_first": "order {order} has no row before this one; reopened stands in a later row of an order",
    "order_needs_variety": "order {order} needs a variety's number, such as 7",
    "order_needs_form": "order {order} needs a form; write dormant or rooted",
    "order_needs_count": "order {order} needs a count; add how many",
    "order_twice": (
        "order '{order}' is also on line {line}; give this one another number, or say in done when it was shipped"
    ),
    "order_of_other": "order {order} is of variety {number!c} (line {line}), not {given!c}; write the same",
    "order_in_other_form": "order {order} is {form} (line {line}), not {given!c}; write the same",
    "nothing_to_reopen": "order {order} has nothing shipped that could be reopened here; mend one count",
    "settled_too_many": "order {order} is for {count}, and {settled} are shipped or cancelled by this row; mend one",
    "order_to_come": (
        "'{day}' is after today, {today}; write the day it was ordered, and in done the day it was shipped"
    ),
    "torn_order": "the last line was cut short ('{text:.40}'); the next order sets it aside in {aside}",
    "order_rows_missing": lambda count, backup, rows: _rows_missing(count, backup, (f"order {rows[0]}", *rows[1:])),
    "sold_for_no_order": "there is no order '{order!c}' in {orders}; put it back, or undo {row}",
    "order_of_protected": (
        "order {order} is for {number}, which is protected and not to be sold; "
        "cancel it: stickdate order --cancel {order}"
    ),
}
SENTENCES: Final = _TABLES | _ROWS | _REPLAY | _ORDERS
