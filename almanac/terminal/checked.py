"""What `check --mend` did, for the person who asked for it. Pure."""

from __future__ import annotations

from almanac.actions.mend import Mended
from almanac.nursery.logbook import TABLE as LOGBOOK
from almanac.words.faults import fault_line, told
from almanac.words.sentences import listed


def mended_text(mended: Mended) -> list[str]:
    """`Put back r7, r8.`, then what was done besides, a line each."""
    back = rows_put_back(mended)
    lines = [f"Put back {', '.join(back)}."] if back else []
    lines += [fault_line(notice) for each in mended.settled for notice in each.notices()]
    lines += [told(fact) for fact in mended.besides]
    return lines + ([f"What was there is kept in {listed(mended.kept)}."] if mended.kept else [])


def rows_put_back(mended: Mended) -> list[str]:
    """The rows that went back, by the names they have now."""
    rows = [(each.found.table, row.cells[0]) for each in mended.settled for row in each.back]
    return list(dict.fromkeys(name if table is LOGBOOK else f"order {name}" for table, name in rows))
