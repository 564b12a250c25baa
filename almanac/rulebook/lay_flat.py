"""What a lay-flat bag holds: the geometry of a tube that lies flat when empty. Pure."""

from __future__ import annotations

from math import pi


def volume_l(width_cm: float, fill_cm: float) -> float:
    """How much a tube holds when it is filled round.

    Lying flat it is `width` across, so its way round is twice that; filled, its radius is width / pi, its section
    width^2 / pi. A bag sealed flat at its foot holds a little less there.

    Args:
        width_cm: of the empty tube lying flat [cm]
        fill_cm: how high it is filled [cm]
    Returns:
        litres
    """
    return width_cm**2 / pi * fill_cm / 1000
