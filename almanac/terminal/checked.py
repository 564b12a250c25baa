"""What `check --mend` did, for the person who asked for it. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from almanac.actions.check import Checked
from almanac.actions.mend import Mended, Settled
from almanac.nursery.logbook import TABLE as LOGBOOK
from almanac.words.faults import fault_line, told
from almanac.words.sentences import listed, one_line, so_many

_MOST = 20  # rows shown to a person


def counted_text(found: Checked) -> list[str]:
    """`1 variety, 31 rows, 3 lots, 2 of them open.`, and the orders likewise."""
    varieties, rows, lots = so_many(found.varieties, "variety"), so_many(found.rows, "row"), so_many(found.lots, "lot")
    lines = [f"{varieties}, {rows}, {lots}, {found.open_lots} of them open."]
    if found.orders:
        lines.append(f"{so_many(found.orders, 'order')}, {found.open_orders} of them open.")
    return lines


def mended_text(mended: Mended) -> list[str]:
    """`Put back r7, r8.` and what they say, then what was done besides, a line each."""
    back = names_back(mended.settled)
    lines = [f"Put back {', '.join(back)}.", *_rows_back(mended.settled)] if back else []
    lines += [fault_line(notice) for each in mended.settled for notice in each.notices()]
    lines += [told(fact) for fact in mended.besides]
    return lines + ([f"What was there is kept in {listed(mended.kept)}."] if mended.kept else [])


def to_mend_text(settled: Sequence[Settled]) -> list[str]:
    """What mending would put back, a line each."""
    back = names_back(settled)
    return [f"check --mend would put back {', '.join(back)}:", *_rows_back(settled)] if back else []


def names_back(settled: Sequence[Settled]) -> list[str]:
    """The rows that go back, by the names they then have."""
    rows = [(each.found.table, row.cells[0]) for each in settled for row in each.back]
    return list(dict.fromkeys(name if table is LOGBOOK else f"order {name}" for table, name in rows))


def _rows_back(settled: Sequence[Settled]) -> list[str]:
    rows = [one_line(" ".join(filter(None, row.cells))) for each in settled for row in each.back]
    return [f"  {row}" for row in rows[:_MOST]] + ([f"  and {len(rows) - _MOST} more"] if len(rows) > _MOST else [])
