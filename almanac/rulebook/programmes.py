"""The numbers of programmes: care whose days are worked out (a generation, a dose of light) instead of counted.

A care file of a programme's name holds them as `[programme]`, and marks as `worked` the tasks whose days it gives.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from almanac.rulebook.fields import Days, Hours, Table, Temperature


class Programme(Table):
    """What every programme has: `tasks` whose days it works out, and the `values` that their texts may name."""

    tasks: ClassVar[frozenset[str]] = frozenset()
    values: ClassVar[frozenset[str]] = frozenset()
    source: str
    note: str = ""


class Potted(Programme):
    """Plants in pots while they grow, and the seasons after.

    A pot has settled `settles` after potting or coming outside: its own looks begin. Feed comes every `feed_every`, in
    pots under cover from `first_feed` after potting until `none_before_hardening`; outside from the accepted frost
    until `last_feed_before_frost`, or, where no frost comes, while days are at least `feed_day_length`. Pots get hot
    while the sun stands at noon at least `hot_noon_sun_deg` high, from `hot_after_safe` after the accepted frost, in
    places with `hot_season` between the average last and first frost, and, where monthly lows are known, a mean low of
    at least `hot_lowest` after midsummer.
    """

    tasks = frozenset({"pot_look", "outside_look", "feed", "last_feed", "pot_heat", "pot_on", "offer_again"})
    settles: Days
    feed_every: Days
    first_feed: Days
    last_feed_before_frost: Days
    feed_day_length: Hours
    none_before_hardening: Days
    hot_noon_sun_deg: float
    hot_season: Days
    hot_after_safe: Days
    hot_lowest: Temperature


class Autumn(Programme):
    """Plants in pots from the first frost to the last.

    Leaves are taken to be down `leaf_fall` after the day by which half of all years have had frost, when days are
    shorter than `rest_day_length`; growth to begin when they are longer again, `wakes_before_safe` before the accepted
    frost. Plants whose roots die at `tender_roots` or warmer go under cover, others are huddled. Where the accepted
    frosts of spring and autumn lie no more than `least_season` apart, nobody is told that frost begins: it never ends.
    """

    tasks = frozenset({"frost_ready", "go_dormant", "pots_in", "pots_wrap", "rest_water", "spring_frost"})
    values = frozenset({"frosts", "known"})
    leaf_fall: Days
    rest_day_length: Hours
    wakes_before_safe: Days
    tender_roots: Temperature
    least_season: Days


# By the name of the care file; `almanac/plan/programmes` has a file of the same name that works it out.
PROGRAMMES: Mapping[str, type[Programme]] = {"autumn": Autumn, "potted": Potted}
