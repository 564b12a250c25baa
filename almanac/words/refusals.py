"""The sentences of what a command cannot carry out, but for entries and orders: nurseries, targets, servers, questions.

`SENTENCES` has a template or a function for each kind, in the words of the command line. Pure.
"""

from __future__ import annotations

from typing import Final

from almanac.faults import Nearest, clipped
from almanac.words.left_out import left_out
from almanac.words.sentences import Sentence, near_text, percent_asked

_OF_WHAT = "say of what: --variety NUMBER, or --crop CROP for a variety that is not in varieties.csv"
_MAKE_IT = "there is no calendar there; make it on the server first"
OF_MACHINE = ("disk_full", "not_permitted", "machine_failed")
_LIKE = "caldav+https://user@host/path/of/the/calendar/"


def _too_many_plants(most: int, plants: int, chance: float) -> str:
    never = f"no number of cuttings up to {most} gives {plants} finished plants"
    return f"{never} with a chance of {percent_asked(chance)}; ask for fewer plants, or a smaller --chance"


def _not_in_rules(name: str, what: str, near: Nearest) -> str:
    return f"'{clipped(name)}' is not a {what} in the rules{left_out(name) or near_text(near)}"


SENTENCES: Final[dict[str, Sentence]] = {
    # The nursery and its folder.
    "no_nursery": "{folder} has no {settings}; make a nursery with: stickdate new {folder}",
    "no_nursery_here": "no {settings} here or above; go to the nursery's folder, say --nursery FOLDER, or make one: "
    "stickdate new FOLDER",
    "is_nursery": "{folder} is a nursery already; edit its {settings}, or name another folder",
    "folder_is_file": "{folder} is a file; name a folder",
    "file_is_folder": "{file} is a folder; name a file",
    "no_file": "there is no file {file}",
    "needs_option": "{option} is needed where there is no terminal to ask in",
    "needs_place": "{option} (or --town) is needed where there is no terminal to ask in",
    # What is asked for and is not there.
    "no_entry": "there is no '{name}' in the plan{near}; ids stand in: stickdate today --ids, stickdate why LOT",
    "no_chapter": "the guide has no chapter '{name!c}'{near}; its chapters are {known: and }",
    "no_rule": "there is no rule '{name}'{near}; all of them: stickdate rules",
    "lot_unknown": "there is no lot '{name}'{near}",
    "crop_not_grown": "no variety here is of a crop '{crop}'{near}",
    "not_in_rules": _not_in_rules,
    "no_place_to_plan": (
        "{method} roots in a {kind}, and none is named: add a [[place]] of kind {kind!q} to nursery.toml, so that it "
        "can be planned there"
    ),
    "method_not_of_crop": "{method} does not suit {crop}; it is rooted by {known: or }",
    "variety_unknown": "variety '{variety!c}' is not in varieties.csv{near:; see varieties.csv}",
    "variety_of_other_crop": "variety {number} is a {own}, not a {crop}; leave --crop out",
    "of_what": _OF_WHAT,
    "too_many_plants": _too_many_plants,
    "day_gone_by": "{day} is not after {as_of}, the day to plan from; name a later one",
    "only_variety_planned": "only a variety can be planned: name it with --variety NUMBER",
    "no_way_to_plan": "there is no way with a chance of {chance:.0%}; nothing was planned",
    # What would be written over, or into.
    "rule_file_there": "{file} is there already; edit it, or give the new one another id",
    "rule_ships": "{name} ships with the program; leave --like out, and write what is otherwise: stickdate rules new "
    "{kind} {name}",
    "no_rule_like": "there is no {kind} '{name!c}' to start from{near}",
    "care_but_once": "{name} has milestones or days worked out that there can be but once; change it itself: stickdate "
    "rules new care {name}",
    "calendar_is_later": "the calendar was last changed for {changed}; for {day} add --out FOLDER",
    "calendar_is_ahead": "the calendar was last changed for {changed}, a day to come; go back to today with: "
    "stickdate calendar --renew",
    "look_ahead": "{day} is to come, and phones are to have what is right on {today}; look ahead with --dry-run, or "
    "add --out FOLDER",
    "chance_twice": "'{given!c}' has two dates for {chance}; write one a chance, as 90%=04-04,50%=04-17",
    "not_feed": "{file} is not a calendar that this program wrote; name another folder for --out",
    "not_changes": "{file} is not a file of changes that this program wrote; name another for --changes",
    "not_sale_list": "{file} is not a list for buyers that this program wrote; name another file",
    "not_drawn_as": "{file} does not end in {kinds: or }; name a file that does, such as {like}",
    "sheet_of_past": "{day} is over; ask for {as_of} or later",
    "not_away": "no days away are to come; write them under [week] in nursery.toml, such as: away = [ {{ from = "
    "2027-03-14, to = 2027-03-20 }} ]",
    "label_size": "a label of {wide:g} by {high:g} mm is none; sides are from 10 to 300 mm",
    "label_unknown": "there are no labels '{name!c}'{near}; or say --roll WIDE HIGH in millimetres",
    "no_lots_to_tag": "there is no lot with cuttings to make tags for; name one that is closed, or log the first",
    "all_protected": "{numbers} may not be passed on without leave: say whose leave you have in the column licence of "
    "varieties.csv",
    "not_tags": "{file} is not a file of tags that this program wrote; name another file",
    "no_pictures": "this needs the extra for pictures and paper; get it with: "
    "python -m pip install 'stickdate[pictures]'",
    "target_holds_nursery": "{folder} holds the nursery itself, with its keys; name a folder apart from it",
    "target_is_calendar": "{folder} holds the feeds under names that anyone can guess; name a folder apart from it",
    "no_parent": "{folder} is not there; make it, or see whether its drive is",
    "base_not_whole": "--base-url {base}: write the web address whole, like https://example.org/cal",
    "folder_options": "--for-sale and --base-url go with a folder, not with a calendar server",
    "no_keys": "{file} does not hold two keys; make new ones with: stickdate keys renew",
    "not_a_host": "--name {name!c}: that is no name of a machine",
    "cannot_listen": "cannot listen on {host}, port {port}: {why}; name another with --port",
    # The machine, and the program itself.
    **dict.fromkeys(OF_MACHINE, lambda file, why: f"{file or 'a file'}: {why}"),
    "busy": "another command or a phone is writing and does not come to an end; try again in a while",
    "not_renewed": "the calendar could not be renewed since {since}: the machine it is made on says why",
    "stumbled": "the program: it stumbled; what it said stands where it runs",
    # A calendar on a server.
    "no_address": "not an address: {address}; write it like " + _LIKE,
    "no_calendar_address": "not the address of a calendar: {address}; write it like " + _LIKE,
    "password_in_address": "no password in the address, others may see it: use --password-file, or {variable}",
    "password_in_clear": "plain http sends the password for all on the way to read: use caldav+https, or add "
    "--insecure",
    "password_not_text": "{file} is not text; write the password into its first line",
    "password_empty": "{file} is empty; write the password into its first line",
    "no_password": "no password for {user}: write it into a file for --password-file, or set {variable}",
    "no_caldav": "a calendar server needs the extra: pip install 'stickdate[caldav]'",
    "no_calendar_there": "{url}: " + _MAKE_IT,
    "not_calendar_there": "{url}: that is no calendar; give the address of one calendar, as your server shows it",
    "user_not_let": "{host} does not let {user} do that there",
    "someone_not_let": "{host} does not let this user do that there",
    "user_not_accepted": "{host} does not accept this user and password",
    "no_answer": "{host} would not answer; try again later",
    "certificate_not_accepted": "{host}: its certificate is not accepted",
    "not_reached": "{host}: it cannot be reached",
    "answered_with": "{host} answered with status {status}; what was not written is written next time",
}

# What is to be mended, as the title of an entry in the calendar says it.
IN_SHORT: Final[dict[str, Sentence]] = {"no_nursery": "{settings}"}
