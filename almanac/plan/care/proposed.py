"""From the day's context to everything that care asks for: the plain rules, then each programme in its order. Pure."""

from __future__ import annotations

from almanac.plan.care import plain
from almanac.plan.care.programmes import programmes
from almanac.plan.care.proposal import Proposal, combined
from almanac.plan.context.day import Context


def proposed(context: Context) -> Proposal:
    """Every task and every look of a nursery, lots in bench order, before they are settled on their days."""
    return combined([plain.propose(context), *(each.propose(context) for each in programmes().values())])
