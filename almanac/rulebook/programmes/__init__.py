"""The numbers of programmes: care whose days are worked out (a generation, a dose of light) instead of counted.

A care file of a programme's name holds them as `[programme]`, and marks as `worked` the tasks whose days it gives.
"""

from __future__ import annotations

from collections.abc import Mapping

from almanac.rulebook.programmes.autumn import Autumn
from almanac.rulebook.programmes.base import Programme
from almanac.rulebook.programmes.dormant_sale import DormantSale
from almanac.rulebook.programmes.for_sale import ForSale
from almanac.rulebook.programmes.fungus_gnats import FungusGnats
from almanac.rulebook.programmes.hardening import Hardening
from almanac.rulebook.programmes.light import Lamps
from almanac.rulebook.programmes.potted import Potted
from almanac.rulebook.programmes.potting import Potting
from almanac.rulebook.programmes.store import Store
from almanac.rulebook.programmes.watering import Watering
from almanac.rulebook.programmes.weaning import Weaning

# By the name of the care file; `almanac/plan/care/programmes` has a file of the same name that works it out.
PROGRAMMES: Mapping[str, type[Programme]] = {
    "autumn": Autumn,
    "dormant_sale": DormantSale,
    "for_sale": ForSale,
    "fungus_gnats": FungusGnats,
    "hardening": Hardening,
    "light": Lamps,
    "potted": Potted,
    "potting": Potting,
    "store": Store,
    "watering": Watering,
    "weaning": Weaning,
}
