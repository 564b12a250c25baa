"""When a crop's wood is bare outdoors, from leaf fall to swelling buds, and when in between it may be cut. Pure.

A winter is named by its shortest day; its frosts are those of the freeze year round it. What opens a window counts from
the likely day, what closes it from the early one: buds that one year in ten has swelling by then, nights that one
winter in ten has had by then. Nights that kill close it for grown wood; young wood, which they kill sooner, often
before its leaves are down, is told apart.
"""

from __future__ import annotations

from datetime import date, timedelta
from statistics import fmean

from almanac.forecast.bare import buds_swell, first_frosts, leaf_fall, start_of, whole
from almanac.forecast.model import Days
from almanac.plain import dataclass
from almanac.plan.context.winters import Outdoors
from almanac.rulebook.models import Killed
from almanac.rulebook.programmes.store import Store
from almanac.site.freeze_year import DAYS_IN_FREEZE_YEAR
from almanac.site.nights import Nights

_LIKELY = 0.5


@dataclass(frozen=True, kw_only=True)
class KillingNights:
    """Nights that kill wood of one kind, below `killed_c`; `of` names the wood where the crop's rules do.

    `careful` is the day by which one winter in ten has had the first; None where not so many have any. They are
    `likely` where half of the winters have one; `known` where the source tells of them or lets them be estimated.
    """

    of: str
    killed_c: float
    careful: date | None
    likely: bool
    known: bool


@dataclass(frozen=True, kw_only=True)
class Collecting:
    """When wood of a crop may be cut in a winter.

    `leaf_fall` and `buds_swell` are early, likely and late, all the same where logged; where leaves `hang`, no frost
    brings them down by the shortest day, and they are stripped. `grown` and `young` are the nights that kill bare wood
    of grown and of young plants, `estimated` where the source tells of no other than its own. Of a mother plant that is
    `sheltered` nights outdoors kill nothing. Wood that is `unprotected` would die before its leaves are down.
    """

    crop: str
    middle: date
    leaf_fall: Days
    leaf_fall_logged: bool
    hang: bool
    buds_swell: Days
    buds_logged: bool
    grown: KillingNights
    young: KillingNights
    estimated: bool
    sheltered: bool
    freezes: bool
    best: str
    opens: date
    due: date
    closes: date

    @property
    def killing_night(self) -> date | None:
        """The night before which grown wood is cut; None for none."""
        return None if self.sheltered else self.grown.careful

    @property
    def unprotected(self) -> bool:
        return self.killing_night is not None and self.killing_night <= self.opens

    @property
    def before_cold(self) -> bool:
        """Whether killing nights close it, not swelling buds."""
        return self.killing_night == self.closes + timedelta(days=1) and not self.unprotected

    @property
    def cold_told(self) -> bool:
        """Whether killing cold is spoken of: not where the likely coldest night kills no wood, not even young."""
        return not self.young.known or self.young.likely or self.grown.careful is not None


def collecting(crop: str, middle: date, outdoors: Outdoors, *, sheltered: bool = False) -> Collecting:
    """When wood of a crop may be cut in the winter round a shortest day.

    Args:
        crop: which
        middle: the shortest day
        outdoors: place, nights and what was logged
        sheltered: whether its mother plant stands where nights outdoors do not reach it
    """
    book, nights = outdoors.around.book, outdoors.nights
    store, cold = book.programme(Store), book.crops[crop].cold
    dormancy = book.crops[crop].dormancy or store.dormancy
    fell, swelled = (outdoors.logged(crop, sign, middle) for sign in ("leaf_fall", "buds_swelling"))
    frosts = first_frosts(nights.frost, middle)
    falls = (fell,) * 3 if fell else _moved(leaf_fall(dormancy, middle, nights), crop, "leaf_fall", middle, outdoors)
    swell = (
        (swelled,) * 3
        if swelled
        else _moved(buds_swell(dormancy, middle, nights), crop, "buds_swelling", middle, outdoors)
    )
    grown, young = (_killing(each, middle, nights) for each in (cold.grown_wood, cold.young_wood))
    opens, closes = falls[1], max(swell[0], falls[1])
    if grown.careful and not sheltered and opens < grown.careful <= closes:
        closes = grown.careful - timedelta(days=1)
    wait = timedelta(days=store.due)
    due = min(opens + wait, closes) if dormancy.best == "early" else max(closes - wait, opens)
    return Collecting(
        crop=crop,
        middle=middle,
        leaf_fall=falls,
        leaf_fall_logged=fell is not None,
        hang=fell is None and (frosts[1] is None or frosts[1] + whole(dormancy.leaves_fall) > middle),
        buds_swell=swell,
        buds_logged=swelled is not None,
        grown=grown,
        young=young,
        estimated=nights.estimates_colder,
        sheltered=sheltered,
        freezes=frosts[1] is not None,
        best=dormancy.best,
        opens=opens,
        due=due,
        closes=closes,
    )


def _moved(days: Days, crop: str, sign: str, middle: date, outdoors: Outdoors) -> Days:
    """Days as rules have them, moved by what earlier winters were off as logged."""
    logged = outdoors.logged_before(crop, sign, middle)
    if not logged:
        return days
    book = outdoors.around.book
    store = book.programme(Store)
    dormancy = book.crops[crop].dormancy or store.dormancy
    of = leaf_fall if sign == "leaf_fall" else buds_swell
    off = fmean((day - of(dormancy, winter, outdoors.nights)[1]).days for winter, day in logged.items())
    by = whole(off * store.carried.share(len(logged)))
    return days[0] + by, days[1] + by, days[2] + by


def _killing(wood: Killed, middle: date, nights: Nights) -> KillingNights:
    cold = nights.at(wood.killed)
    careful, likely = None, False
    if cold:
        careful = first_frosts(cold, middle)[0]
        likely = cold.chance_before(start_of(nights, middle) + timedelta(days=DAYS_IN_FREEZE_YEAR - 1)) >= _LIKELY
    return KillingNights(of=wood.of, killed_c=wood.killed, careful=careful, likely=likely, known=cold is not None)
