"""What whoever was not let in is answered, whatever was asked for: the same bytes, which tell how to be let in."""

from __future__ import annotations

from typing import Final

from flask import Response

# No name of the nursery, no key, nothing that depends on the question: who asks learns only how to be let in.
WORDS: Final = b"""<!doctype html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta name="robots" content="noindex, nofollow">
<title>Not paired</title>
<h1>This device is not paired</h1>
<p>Nothing is shown or logged here until it is. Pair it once, in one of two ways:</p>
<ul>
<li>Scan the square code that the computer shows when it starts to serve.</li>
<li>On a phone that is paired already, open Calendar, then Pair another phone, and scan the code
there.</li>
</ul>
<p>If a subscribed calendar led here or stopped, its address has changed: a paired phone shows the new one under
Calendar.</p>
</html>
"""


def stranger() -> Response:
    """The one answer for all who were not let in."""
    return Response(WORDS, status=404, mimetype="text/html")
