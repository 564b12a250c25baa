"""When potted plants go under cover, and when they may rest."""

from __future__ import annotations

from almanac.plain import dataclass
from almanac.rulebook.fields import Days, Hours, Temperature
from almanac.rulebook.programme_numbers import ProgrammeNumbers


@dataclass(frozen=True, kw_only=True)
class Autumn(ProgrammeNumbers):
    """Plants in pots from the first frost to the last.

    Leaves are taken to be down `leaf_fall` after the day by which half of all years have had frost, when days are
    shorter than `rest_day_length`; growth to begin when they are longer again, `wakes_before_safe` before the accepted
    frost. Plants whose roots die at `tender_roots` or warmer go under cover, others are huddled. Where the accepted
    frosts of spring and autumn lie no more than `least_season` apart, nobody is told that frost begins: it never ends.
    What is logged at rest only in spring is taken to be awake `sleeps_on` later at the latest.
    """

    tasks = frozenset(
        {"frost_ready", "go_dormant", "pots_in", "pots_wrap", "rest_water", "spring_frost", "wake", "into_light"}
    )
    values = frozenset({"frosts", "known", "granted"})
    leaf_fall: Days
    rest_day_length: Hours
    wakes_before_safe: Days
    tender_roots: Temperature
    least_season: Days
    sleeps_on: Days
