"""The steps from a closed bag to room air."""

from __future__ import annotations

from almanac.faults import Fact, Miswritten
from almanac.plain import dataclass
from almanac.rulebook.fields import Days, TemperatureDifference
from almanac.rulebook.programme_numbers import ProgrammeNumbers

STEPS = 3  # band, neck, open; vents, cover half, cover off: as many as there are tasks of them


@dataclass(frozen=True, kw_only=True)
class Weaning(ProgrammeNumbers):
    """From the closed bag, or the covered pot, to room air in steps; rooted bags off the mat.

    A step comes `between` days after the one before and may be `late` by so much; bags are open `before` the likely day
    of potting. The first lift of a cover comes `after_potting`, the full lamp after days `in_shade`. Wilting within
    `holds` of the last step sets it back one. Where potting up slips, open bags with roots through go off the mat,
    within `off_mat_within`, where the base is warmer than the air by `cooler`; to a bin that is cooler by as much where
    one has room.
    """

    tasks = frozenset(
        {
            "wean_loosen",
            "wean_half",
            "wean_open",
            "cover_lift",
            "cover_half",
            "uncover",
            "to_lamp",
            "cool_bin",
            "off_mat",
            "open_weight",
            "gnat_open",
            "vent_crack",
            "vent_half",
            "vent_off",
        }
    )
    values = frozenset({"part", "to", "room"})
    between: Days
    late: Days
    before: Days
    after_potting: Days
    in_shade: Days
    holds: Days
    cooler: TemperatureDifference
    off_mat_within: Days

    @property
    def lead(self) -> int:
        """Days from the first step of a bag to its potting."""
        return round((STEPS - 1) * self.between + self.before)

    def check(self) -> None:
        if self.between < 1:
            raise Miswritten(Fact("steps_within_a_day"))
        if not self.late < self.between:
            raise Miswritten(Fact("steps_on_one_day"))
