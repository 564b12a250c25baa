"""When wood is bare outdoors, and when it is taken and stuck."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from almanac.rulebook.fields import Days, Table, Temperature
from almanac.rulebook.programme_numbers import ProgrammeNumbers


class Dormancy(Table):
    """When leaves fall and buds swell outdoors, by the site's frosts and its shortest day.

    Leaves fall `leaves_fall` after the first frost of autumn, not sooner than `leaves_from` days from the shortest day
    and by that day at the latest, when those still hanging are stripped. Buds swell `buds_swell` before the last frost
    of spring, not sooner than `buds_from` days after the shortest day, and on that day where it does not freeze. Wood
    is best taken `early` or `late` in between, and before nights under `cut_before` (left out: what kills dormant
    wood, which for young plants may be less cold).
    """

    leaves_fall: Days
    leaves_from: Annotated[int, Field(ge=-180, le=0)]
    buds_swell: Days
    buds_from: Annotated[int, Field(ge=0, le=180)]
    best: Literal["early", "late"] = "early"
    cut_before: Temperature | None = None
    source: str
    note: str = ""


class Store(ProgrammeNumbers):
    """When dormant wood is taken and stuck.

    It is stuck `in_leaf` after buds swell outdoors at the latest, when plants there are in leaf; once its buds were
    seen to swell it keeps for `swollen_keeps`. `look_within` is how lately late wood must have been looked at to be
    sold; wood past its range is asked for every `ask_every`. `dormancy` is that of a crop which gives none of its own;
    the good day to take wood comes `due` after the window opens, or before it closes where late wood is best. Forecasts
    for a lot to come are of one of `lot` cuttings.
    """

    tasks = frozenset({"take_wood", "stick_wood", "store_limit", "store_past", "store_look_late"})
    values = frozenset({"bare", "nights", "left", "early", "ends"})
    due: Days
    lot: Annotated[int, Field(ge=1)]
    in_leaf: Days
    swollen_keeps: Days
    look_within: Days
    ask_every: Days
    dormancy: Dormancy
