"""The year of plants in pots: feeding, heat, potting on."""

from __future__ import annotations

from almanac.plain import dataclass
from almanac.rulebook.fields import Days, Hours, Temperature
from almanac.rulebook.programme_numbers import ProgrammeNumbers


@dataclass(frozen=True, kw_only=True)
class Potted(ProgrammeNumbers):
    """Plants in pots while they grow, and the seasons after.

    A pot has settled `settles` after potting or coming outside: its own looks begin. Feed comes every `feed_every`, in
    pots under cover from `first_feed` after potting until `none_before_hardening`; outside from the accepted frost
    until `last_feed_before_frost`, or, where no frost comes, while days are at least `feed_day_length`. Pots get hot
    while the sun stands at noon at least `hot_noon_sun_deg` high, from `hot_after_safe` after the accepted frost, in
    places with `hot_season` between the average last and first frost, and, where monthly lows are known, a mean low of
    at least `hot_lowest` after midsummer.
    """

    tasks = frozenset({"pot_look", "outside_look", "feed", "last_feed", "pot_heat", "pot_on", "offer_again", "unsold"})
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
