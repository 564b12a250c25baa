"""What the law says of parcels: of one that goes somewhere, and of a crop that is offered from here. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from almanac.rulebook.law import Law
from almanac.site.place import Place


def laws_of_parcel(laws: Iterable[Law], crop: str, place: Place, country: str, region: str) -> tuple[Law, ...]:
    """Those that hold for a crop's plants sent from a place, the strictest first.

    Args:
        laws: all there are
        crop: whose plants
        place: where it is sent from
        country, region: where it goes, as codes or names; where both are blank nobody has said, and what holds at the
            sender's alone is meant
    """
    sender = _codes(place.country, place.region)
    receiver = _codes(country or place.country, region) if country.strip() or region.strip() else frozenset()
    return _strictest_first(law for law in laws if law.concerns(crop) and law.holds(sender, receiver))


def laws_of_offer(laws: Iterable[Law], crop: str, place: Place) -> tuple[Law, ...]:
    """Those that a crop's plants sent from a place may meet in its own country, the strictest first."""
    own = _codes(place.country, "")
    return _strictest_first(
        law for law in laws if law.concerns(crop) and any(code[:2] in own for code in (*law.to, *law.within))
    )


def _strictest_first(laws: Iterable[Law]) -> tuple[Law, ...]:
    order: Sequence[str] = ("forbidden", "permit", "papers")
    return tuple(sorted(laws, key=lambda law: (order.index(law.ruling), law.where)))


def _codes(country: str, region: str) -> frozenset[str]:
    """The codes of a country and of its region, however written; none where the country is not known."""
    from almanac.site.holidays import country_code, region_code  # it costs start-up time, and few plans need it

    code = country_code(country)
    part = region_code(country, region) if code and region.strip() else ""
    return frozenset(filter(None, (code, part and f"{code}-{part}")))
