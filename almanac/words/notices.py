"""The sentences of what a command tells besides: what it set aside, and what it left as it was. Pure."""

from __future__ import annotations

from typing import Final

from almanac.words.sentences import Sentence

SENTENCES: Final[dict[str, Sentence]] = {
    "row_set_aside": "the logbook's last line was cut short; it was set aside: {text:.60}",
    "line_set_aside": "a last line was cut short; it was set aside: {text:.60}",
    "not_refreshed": "the calendar was not refreshed: {why}",
    "changed_later": "it was last changed for {changed}",
    "perhaps_written": (
        "{file}: {why}; what was being logged may stand there all the same: look there before you log it again"
    ),
    "old_list": "the list for buyers there is as it was; --for-sale writes it anew",
}
