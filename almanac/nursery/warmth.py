"""What `nursery.toml` says of a bin's warmth, as dated rows: changing it later rewrites no degree-days. Pure.

The warmth of a bin is written into the logbook with the first lot in it. Otherwise a later change of the settings would
rewrite degree-days long counted. `check` says where the two no longer agree.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from almanac.faults import Fact, Fault
from almanac.nursery.logbook import Row
from almanac.nursery.settings import Settings
from almanac.nursery.settings_places import Bin
from almanac.units import parse, written

_NOTE = "as nursery.toml says"
_SAME_C = 0.05


def rows_for_new_bins(rows: Sequence[Row], known: Sequence[Row], settings: Settings) -> Iterator[Row]:
    """Rows for the warmth of each bin that lots go into, where no earlier row says it.

    Args:
        rows: to be logged, of one day
        known: the rows that count so far
    """
    day, stamp = rows[0].day, rows[0].logged_at
    told = {(row.what, row.bin.lower()) for row in known if row.day <= day}
    for name in dict.fromkeys(
        row.bin.lower() for row in rows if row.bin and row.event.bin != "no" and row.event.kind != "plan"
    ):
        item = settings.bin_named(name)
        for what, degrees in _settings(item) if item else ():
            if item and (what, name) not in told:
                value = written(degrees, settings.nursery.units)
                yield Row(id="new", day=day, what=what, bin=item.name, value=value, note=_NOTE, logged_at=stamp)


def drifted(rows: Sequence[Row], settings: Settings) -> Iterator[Fault]:
    """Bins whose settings say something else than the logbook took from them."""
    latest = {(row.what, row.bin.lower()): row for row in rows if row.what in ("mat", "air")}
    for item in settings.places:
        for what, degrees in _settings(item):
            row = latest.get((what, item.name.lower()))
            if row and row.note == _NOTE and abs(parse(row.value, "temperature") - degrees) > _SAME_C:
                now = written(degrees, settings.nursery.units)
                told = Fact("drifted", bin=item.name, kind=item.kind, what=what, now=now, logged=row.value, day=row.day)
                yield Fault(file="nursery.toml", fact=told)


def _settings(item: Bin) -> tuple[tuple[str, float], ...]:
    if item.kind == "bed":
        return ()
    return (("mat", item.mat), ("air", item.air)) if item.heated else (("air", item.air),)
