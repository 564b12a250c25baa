"""The web application: feeds by the read key, the bench page for phones that were let in; others are told nothing.

Nothing in a request's address is logged: the framework would write the path, and so the key, beside a defect.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from flask import Flask, Response, abort, after_this_request, request
from werkzeug.exceptions import HTTPException

from almanac.actions.first_steps import subscribed
from almanac.actions.look import NAMES
from almanac.faults import Stopped
from almanac.web.feeds import Feeds
from almanac.web.keys import Keys, load_keys
from almanac.web.page import Page
from almanac.web.routes import add_page
from almanac.web.stranger import stranger
from almanac.web.subscribe import Subscribe
from almanac.web.trouble import missing, stumbled, too_long

_SHARED = "stickdate_phone"  # the cookie's name in versions that had one for all nurseries of a machine
_YEAR = timedelta(days=400)  # browsers keep none for longer (RFC 6265bis, 5.5)
_LARGEST_BODY = 64 * 1024
_LOG = logging.getLogger("stickdate")
_POLICY = "default-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'; object-src 'none'"


def create_app(
    folder: Path,
    now: Callable[[], datetime],
    hosts: Sequence[str],
    as_of: date | None = None,
    page: Callable[[], str] = str,
) -> Flask:
    """The application of one nursery.

    Args:
        folder: the nursery's
        now: the clock
        hosts: the names it may be asked by, without port; by others it answers nothing (DNS rebinding)
        as_of: a day to stand on instead of today
        page: the address of the bench page, once it is known
    """
    app = Flask("almanac.web", static_folder=None)
    app.config.update(TRUSTED_HOSTS=list(hosts), MAX_CONTENT_LENGTH=_LARGEST_BODY)
    app.url_map.strict_slashes = True
    app.url_map.merge_slashes = False  # else `//f/…` is answered by where it is meant to go
    app.log_exception = _log_defect  # type: ignore[method-assign,assignment]  # Flask's own writes the address, and so the key
    feeds = Feeds(folder, now, as_of=as_of, page=page)

    def keys() -> Keys:
        return load_keys(folder)

    @app.get("/f/<key>/<name>.ics", provide_automatic_options=False)
    def feed(key: str, name: str) -> Response:
        if not keys().reads(key) or name not in NAMES:
            abort(404)
        found = feeds.get(name)
        subscribed(folder)
        answer = Response(found.body, content_type="text/calendar; charset=utf-8")
        answer.set_etag(found.tag)
        if found.modified <= now():  # one to come is not to be said (RFC 9110, 8.8.2.1); the tag tells it apart
            answer.last_modified = found.modified
        answer.headers["Cache-Control"] = "private, no-cache"
        answer.make_conditional(request)
        return answer

    @app.get("/k/<key>", provide_automatic_options=False)
    def let_in(key: str) -> Response:
        if not keys().writes(key):
            abort(404)
        answer = Response(status=303, headers={"Location": "/"})
        _remember(answer, keys())
        return answer

    bench = Page(folder, now, as_of)
    subscribe = Subscribe(bench, page)
    more = (("/calendar", subscribe.calendar), ("/calendar/<name>", subscribe.calendar), ("/pair", subscribe.pair))
    add_page(app, bench, lambda: is_phone(folder), more)

    @app.before_request
    def from_here_only() -> Response | None:
        """A form of another site may not log here: its origin says so (Fetch standard, 3.2)."""
        return stranger() if request.method not in ("GET", "HEAD") and _origin() != request.host else None

    @app.after_request
    def quiet(answer: Response) -> Response:
        answer.headers.setdefault("Referrer-Policy", "no-referrer")
        answer.headers["X-Content-Type-Options"] = "nosniff"
        answer.headers["X-Frame-Options"] = "DENY"
        answer.headers.setdefault("Cache-Control", "no-store")
        answer.headers["Content-Security-Policy"] = _POLICY
        return answer

    @app.errorhandler(HTTPException)
    def nothing(error: HTTPException) -> Response:
        """Whatever is wrong is answered alike to whom was not let in: nobody learns which part was."""
        if error.code == 400 or not _known(folder):  # by a name that is not its own even a phone is a stranger
            return stranger()
        match error.code:
            case 413:
                return too_long()
            case 500:
                return stumbled()
            case _:
                return missing()

    return app


def _origin() -> str:
    """The host of the page that a request came from, empty if it does not say so."""
    try:
        return urlsplit(request.headers.get("Origin", "")).netloc
    except ValueError:
        return ""


def _known(folder: Path) -> bool:
    """Whether the one who asks was let in; nobody while the keys cannot be read."""
    try:
        return is_phone(folder)
    except (Stopped, OSError):
        return False


def _log_defect(error: Any) -> None:
    _LOG.error("a request could not be answered", exc_info=error)


def is_phone(folder: Path) -> bool:
    """Whether the one who asks was let in; who was let in by an older version gets the cookie of today for its own."""
    keys = load_keys(folder)
    if keys.is_phone(request.cookies.get(keys.cookie, "")):
        return True
    known = keys.is_phone(request.cookies.get(_SHARED, ""))
    if known:

        @after_this_request
        def exchange(answer: Response) -> Response:
            _remember(answer, keys)
            answer.delete_cookie(_SHARED)
            return answer

    return known


def _remember(answer: Response, keys: Keys) -> None:
    answer.set_cookie(
        keys.cookie, keys.phone, max_age=_YEAR, httponly=True, samesite="Strict", secure=request.is_secure, path="/"
    )
