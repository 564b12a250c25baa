"""How many examples drawn tests try: a third, and all of them where STICKDATE_EXAMPLES=whole."""

from __future__ import annotations

import os

WHOLE = os.environ.get("STICKDATE_EXAMPLES") == "whole"


def examples(whole: int) -> int:
    """Of so many examples, those that are tried."""
    return whole if WHOLE else whole // 3
