"""A served feed whose entries lead to the bench page: of one lot to its page, of a round to the bench. Pure.

Only what is served has them: who reads the feed here can reach the page here. No key is in them; they open on phones
that were let in.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import replace
from functools import lru_cache

from almanac.plan.ids import parse
from almanac.web.feeds import Feed

# The link goes after the line with the id and before the alarms (RFC 5545, 3.6.1); one so long that its line is
# folded has none.
_ID = re.compile(rb"^X-STICKDATE-ID:([^\r\n]*)\r\n(?![ \t])", re.MULTILINE)
_LONGEST = 75  # octets of a line (RFC 5545, 3.1)


@lru_cache(maxsize=32)
def linked(feed: Feed, base: str) -> Feed:
    """A feed with links, and a tag of its own.

    Args:
        feed: as it is written
        base: the address it was asked for by, such as `http://192.0.2.7:8765/`
    """

    def link(found: re.Match[bytes]) -> bytes:
        name = parse(found[1].decode("utf-8", "replace"))
        if not name.of_lot and name.kind != "round":
            return found[0]
        line = f"URL:{base}{'lot/' if name.of_lot else ''}{name.of_lot}\r\n".encode("ascii")
        return found[0] + (line if len(line) <= _LONGEST + len("\r\n") else b"")

    body = _ID.sub(link, feed.body)
    return replace(feed, body=body, tag=hashlib.sha256(body).hexdigest()[:32])
