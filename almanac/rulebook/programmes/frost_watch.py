"""On which evenings to look at the forecast: until when frost may return, from when it may come, and how near."""

from __future__ import annotations

from typing import Annotated

from almanac.plain import dataclass
from almanac.rulebook.fields import Days, Hours, TemperatureDifference, Within
from almanac.rulebook.programme_numbers import ProgrammeNumbers


@dataclass(frozen=True, kw_only=True)
class FrostWatch(ProgrammeNumbers):
    """Whatever stands out is watched until a later frost comes in no more than a `rarely` share of years.

    In autumn from the day by which it has come in such a share, until `sheltered` after that by which it has in half of
    all years: pots are in shelter by then. A forecast within `margin` of what kills is one to act on: leaves on a clear
    night are colder than the air that is told. Evenings are told `told_ahead`, at the hour `evening`.
    """

    tasks = frozenset({"frost_watch", "frost_evening"})
    values = frozenset({"frosts", "until", "tonight", "each", "why_till"})
    rarely: Annotated[float, Within(gt=0, lt=0.5)]
    margin: TemperatureDifference
    sheltered: Days
    told_ahead: Days
    evening: Hours
