"""A served feed whose entries lead to the bench page: of one lot to its page, of a round to the bench. Pure.

Only what is served has them: who reads the feed here can reach the page here. No key is in them; they open on phones
that were let in.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import replace
from functools import lru_cache

from almanac.web.feeds import Feed

# `7a.pot_up`, `fig.pot_up.7a` (an entry that lots share is named after one of them) or `round.2027-02-14`. The link
# goes after that line and before the alarms (RFC 5545, 3.6.1); an id so long that it is folded has none.
_ID = re.compile(
    rb"^X-STICKDATE-ID:(?:(?:[a-z0-9_]+\.)*?(?P<lot>[1-9][0-9]{0,5}[a-z]{1,3})(?=[.~\r])|round\.)[^\r\n]*\r\n(?![ \t])",
    re.MULTILINE,
)
_LONGEST = 75  # octets of a line (RFC 5545, 3.1)


@lru_cache(maxsize=32)
def linked(feed: Feed, base: str) -> Feed:
    """A feed with links, and a tag of its own.

    Args:
        feed: as it is written
        base: the address it was asked for by, such as `http://192.0.2.7:8765/`
    """

    def link(found: re.Match[bytes]) -> bytes:
        path = b"lot/" + found["lot"] if found["lot"] else b""
        line = b"URL:" + base.encode("ascii") + path
        return found[0] + (line + b"\r\n" if len(line) <= _LONGEST else b"")

    body = _ID.sub(link, feed.body)
    return replace(feed, body=body, tag=hashlib.sha256(body).hexdigest()[:32])
