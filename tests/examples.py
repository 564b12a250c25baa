"""The invented nurseries that ship: where they lie, and the day on which their own pages look at each."""

from __future__ import annotations

from datetime import date
from pathlib import Path

EXAMPLES = Path(__file__).parents[1] / "examples"
STATES = {
    "quince-lane": date(2026, 2, 24),
    "two-sheds": date(2026, 8, 10),
    "harbour-wall": date(2026, 3, 3),
    "osier-row": date(2026, 2, 10),
    "millrace": date(2026, 2, 19),
}
