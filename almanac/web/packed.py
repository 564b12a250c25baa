"""Pages and their script and style in fewer bytes on the wire, for whoever takes gzip. Feeds go as they are.

A feed's strong tag stands for its very bytes, and calendars compare by it; pages have none. Nothing secret stands in a
page beside what a stranger chose (no key does), so its length gives nothing away.
"""

from __future__ import annotations

import gzip
from functools import lru_cache

from flask import Response, request

_TYPES = ("text/html", "text/css", "text/javascript", "application/javascript", "image/svg+xml")
_LEAST = 1000  # bytes from which it pays
_LEVEL = 6


def packed(answer: Response) -> Response:
    """The answer, with its body packed where that is asked for and pays."""
    if answer.mimetype not in _TYPES:
        return answer
    answer.vary.add("Accept-Encoding")
    taken = request.accept_encodings["gzip"] > 0
    if not taken or answer.direct_passthrough or answer.status_code in (204, 304) or request.method == "HEAD":
        return answer
    body = answer.get_data()
    if len(body) < _LEAST:
        return answer
    # What is the same for all, such as the style, has a tag and is packed once.
    answer.set_data(_packed(body) if answer.get_etag()[0] else _gzip(body))
    answer.headers["Content-Encoding"] = "gzip"
    tag, _ = answer.get_etag()
    if tag:
        answer.set_etag(tag, weak=True)  # it no longer stands for these very bytes (RFC 9110, 8.8.3.3)
    return answer


def _gzip(body: bytes) -> bytes:
    return gzip.compress(body, _LEVEL, mtime=0)


_packed = lru_cache(maxsize=8)(_gzip)
