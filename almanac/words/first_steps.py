"""What a young nursery is to do next, as the command line says it, each on one line of a terminal. Pure."""

from __future__ import annotations

from typing import Final

from almanac.words.sentences import Sentence

SENTENCES: Final[dict[str, Sentence]] = {
    "next_varieties": "write varieties into varieties.csv, as 1,Henhouse Ladder,fig",
    "next_lots": "log your first cuttings, as: stickdate log taken {number} --count 12",
    "next_calendar": "write the calendar for your phone: stickdate calendar",
    "next_phone": "put the calendar on your phone: stickdate serve --host 0.0.0.0",
    "next_subscribe": "subscribe to the calendar: stickdate serve --host 0.0.0.0",
    "next_looks": "been through bin {bin}? Log it: stickdate log looked --bin {bin}",
    "next_look": "looked at {lot}? Log it: stickdate log looked {lot}",
}
