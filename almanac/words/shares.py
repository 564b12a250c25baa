"""Shares and chances as a person reads them. Pure.

Figures of rules and shares of water, mix or light are told with Python's own `:.0%`, written alike.
"""

from __future__ import annotations


def percent(share: float) -> str:
    """`62%` of a share that was worked out, 0 to 1: never rounded to none or all."""
    if 0 < share < 0.01 or 0.99 < share < 1:
        return "<1%" if share < 0.5 else ">99%"
    return f"{share:.0%}"


def percent_asked(chance: float) -> str:
    """`92.5%` of a chance that somebody named, 0 to 1: with the decimals it was given with."""
    return f"{chance * 100:.10g}%"
