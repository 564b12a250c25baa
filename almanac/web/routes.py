"""The bench page's addresses: which view answers each, for those let in alone; its style, script and mark."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache, wraps
from pathlib import Path

from flask import Flask, Response, abort, request

from almanac.faults import InputFaults, Stopped
from almanac.nursery.events import EVENTS, STAGES
from almanac.pictures.sheet import log_words
from almanac.units import named_unit
from almanac.web.choices import label
from almanac.web.form import fresh_key
from almanac.web.packed import packed
from almanac.web.page import Page, StandsStill
from almanac.web.stranger import stranger
from almanac.web.trouble import troubled
from almanac.words.dates import day, weekday
from almanac.words.for_sale import CANCEL_ON_PAGE, held_back, sold_as, too_few
from almanac.words.lots import named, stage_words

View = Callable[..., Response]
_ASSETS = Path(__file__).parent / "assets"


def add_page(app: Flask, page: Page, let_in: Callable[[], bool], more: Sequence[tuple[str, View]] = ()) -> None:
    """Put the page's routes, and `more`, on the application, for those let in alone; others are told how to be."""

    def only(view: Callable[..., Response]) -> Callable[..., Response]:
        @wraps(view)
        def guarded(**parts: str) -> Response:
            if not let_in():
                return stranger()
            try:
                answer = view(**parts)
            except StandsStill as still:
                answer = still.page
            except (InputFaults, Stopped, OSError) as trouble:
                answer = troubled(trouble)
            # Under no-referrer a browser tells no origin of a form that is posted (Fetch standard, 3.2), not even to
            # the page's own server; this tells nobody else either.
            answer.headers["Referrer-Policy"] = "same-origin"
            return packed(answer)

        return guarded

    pages: list[tuple[str, View]] = [
        ("/", page.bench),
        ("/lots", page.lots),
        ("/lot/<name>", page.lot),
        ("/lot/<name>/year.svg", page.lot_year),
        ("/week", page.week),
        ("/sale", page.sale),
        ("/log", page.events),
        ("/log/<what>", page.entry),
        ("/undo/<row>", page.ask_undo),
        *more,
        ("/look/<name>", _asset),
        ("/chart", page.chart),
        ("/paper/<name>", page.paper),
    ]
    for rule, view in pages:
        app.add_url_rule(rule, f"{view.__name__}{rule}", only(view), methods=["GET"], provide_automatic_options=False)
    for rule, write in (("/log", page.log), ("/undo", page.undo)):
        app.add_url_rule(rule, f"post_{write.__name__}", only(write), methods=["POST"], provide_automatic_options=False)
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.jinja_env.globals.update(
        fresh_key=fresh_key,
        event_label=label,
        events=EVENTS,
        every_stage=STAGES,
        sold_as=sold_as,
        too_few=too_few,
        held_back=held_back,
        CANCEL_ON_PAGE=CANCEL_ON_PAGE,
        named_unit=named_unit,
        weekday=weekday,
        day=day,
        log_words=log_words,
        stage_words=stage_words,
        named=named,
    )


def _asset(name: str) -> Response:
    found = _assets().get(name)
    if found is None:
        abort(404)
    body, kind = found
    answer = Response(body, content_type=kind)
    answer.add_etag()
    answer.headers["Cache-Control"] = "private, no-cache"
    answer.make_conditional(request)
    return answer


@cache
def _assets() -> dict[str, tuple[bytes, str]]:
    """Style, script and mark, each with its kind: read once."""
    kinds = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml"}
    return {
        path.name: (path.read_bytes(), f"{kinds[path.suffix]}; charset=utf-8")
        for path in sorted(_ASSETS.iterdir())
        if path.suffix in kinds
    }
