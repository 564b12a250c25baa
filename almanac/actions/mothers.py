"""Which mother plant wood was cut from, as said when it is logged."""

from __future__ import annotations

from collections.abc import Sequence

from almanac.faults import Fact, Refusal, nearest
from almanac.nursery.logbook import Row
from almanac.nursery.nursery import Nursery


def refuse_unknown_mother(nursery: Nursery, rows: Sequence[Row]) -> None:
    """Refuse wood of a plant that is not among the mother plants of its variety, named or kept, if there are any.

    What stands in the logbook stands there, whatever plants the settings name later.

    Raises:
        Refusal: there is no such plant
    """
    for row in rows:
        if row.what != "taken" or not row.value:
            continue
        number = row.variety.lstrip("0")
        places = {each.place.strip().lower(): each.place for each in nursery.mothers if each.variety == number}
        if any(places) and row.value.strip().lower() not in places:
            near = nearest(row.value, filter(None, places.values()))
            raise Refusal(Fact("mother_unknown", place=row.value, number=number, near=near))
