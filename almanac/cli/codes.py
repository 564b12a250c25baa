"""An address as a code to scan, drawn in the terminal."""

from __future__ import annotations

import io
import sys


def code_of(address: str) -> str:
    """A QR code, two of its lines in one of text; empty where the terminal cannot draw it."""
    import segno

    drawn = io.StringIO()
    segno.make(address, micro=False).terminal(drawn, border=2, compact=True)
    try:
        drawn.getvalue().encode(sys.stdout.encoding or "ascii")
    except UnicodeEncodeError:
        return ""
    return drawn.getvalue().rstrip("\n")
