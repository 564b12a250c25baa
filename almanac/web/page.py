"""The bench page: what phones that were let in see, and how they log. Others are told nothing.

The page is forms, and a script that keeps them. All works as plain posts and a 303 to where it was, so that it works in
any browser and the tests need none. `page.js` sends the same forms itself, keeps each in the page and its storage until
the answer was a confirmation of ours, and puts the new `main` in place without losing what is half filled in. The
referrer policy is `same-origin`: under `no-referrer` a browser calls the origin of a form `null`, and posts are let in
by origin.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Callable
from datetime import date, datetime
from functools import wraps
from pathlib import Path
from typing import Any

from flask import Flask, Response, abort, make_response, render_template, request, send_from_directory

from almanac.actions.last_plan import LastPlan, last_plan
from almanac.actions.look import Reading, look
from almanac.actions.paper import bench_sheets
from almanac.actions.record import Recorded, Request, record, undo
from almanac.faults import Fact, InputFaults, Refusal, Stopped, troubles
from almanac.nursery.events import EVENTS, STAGES
from almanac.nursery.load import load_nursery
from almanac.pictures.sheet import log_words
from almanac.plan.changes import Changes
from almanac.plan.wood.forsale import offers
from almanac.web.bench import bench_of, card_of, marks_of, reasons_of, week_of
from almanac.web.choices import label
from almanac.web.form import asked, clean, fresh_key
from almanac.web.paper import PAPERS, charts, made, year_of
from almanac.web.said import Memory, entries, history
from almanac.words.dates import day, weekday
from almanac.words.faults import page_text, told, told_all
from almanac.words.for_sale import held_back, order_now, sold_as, too_few
from almanac.words.notices import stands_still
from almanac.words.tasks import cautions

_LAST = 8
_WEEK = 7
PATIENCE_S = 8.0  # the page itself gives up after 12
_BACK = re.compile(r"/(lot/[1-9][0-9]{0,5}[a-z]{1,3}|week|lots|sale|log|chart)?")
_ASSETS = Path(__file__).parent / "assets"
_LOG = logging.getLogger("stickdate")
Answer = Response
Now = Callable[[], datetime]


class Page:
    """The page of one nursery.

    Args:
        folder: its folder
        now: the clock
        as_of: a day to stand on instead of today
    """

    def __init__(self, folder: Path, now: Now, as_of: date | None) -> None:
        self._folder, self._now, self._as_of = folder, now, as_of
        self._memory = Memory()

    def bench(self) -> Answer:
        def values(seen: Reading) -> dict[str, Any]:
            printed = bench_sheets(seen)[0]
            told = cautions(printed.cautions, seen.nursery.book)
            last = entries(seen.nursery, _LAST)
            return {"bench": bench_of(seen), "last": last, "printed": printed, "printed_cautions": told}

        return self._shown("bench.html", values)

    def lots(self) -> Answer:
        def values(seen: Reading) -> dict[str, Any]:
            every = seen.nursery.stock.lots.values()
            return {"cards": [card_of(seen, lot) for lot in sorted(every, key=lambda lot: lot.closed)]}

        return self._shown("lots.html", values)

    def lot(self, name: str) -> Answer:
        def values(seen: Reading) -> dict[str, Any]:
            lot = seen.nursery.stock.lots.get(name)
            if lot is None:
                abort(404)
            return {
                "card": card_of(seen, lot),
                "marks": marks_of(seen, lot),
                "reasons": reasons_of(seen, lot),
                "history": history(name, seen.nursery),
            }

        return self._shown("lot.html", values)

    def week(self) -> Answer:
        return self._shown("week.html", lambda seen: {"days": week_of(seen)})

    def sale(self) -> Answer:
        def values(seen: Reading) -> dict[str, Any]:
            orders = [order_now(order, seen.plan.as_of) for order in seen.nursery.orders.values() if order.open]
            return {"offers": offers(seen.nursery), "orders": orders}

        return self._shown("sale.html", values)

    def chart(self) -> Answer:
        """The season as a picture, and all that can be printed."""
        return self._shown("chart.html", lambda seen: {"charts": charts(seen), "papers": PAPERS})

    def paper(self, name: str) -> Answer:
        """A picture or a paper as a file of its own."""
        if name not in PAPERS:
            abort(404)
        try:
            seen = look(self._folder, self._now(), self._as_of)
            body = made(name, seen, request.host_url)
        except (InputFaults, Stopped, OSError) as trouble:
            return _troubled(trouble)
        answer = Response(body, mimetype=PAPERS[name].mimetype)
        answer.headers["Content-Disposition"] = f"inline; filename={name}"
        return answer

    def lot_year(self, name: str) -> Answer:
        """One lot's year as a picture."""
        try:
            seen = look(self._folder, self._now(), self._as_of)
        except (InputFaults, Stopped, OSError) as trouble:
            return _troubled(trouble)
        lot = seen.nursery.stock.lots.get(name)
        if lot is None:
            abort(404)
        return Response(year_of(lot, seen), mimetype="image/svg+xml")

    def log_form(self) -> Answer:
        return self._shown("log.html", {"asked": Request(""), "why": ""})

    def log(self) -> Answer:
        """Log what a form says, and go back to where it was with the confirmation."""
        try:
            wanted = asked(request.form)
        except Refusal as why:
            return self._refused(Request(clean(request.form.get("what", ""))[:40]), why)

        def write() -> Recorded:
            return record(self._folder, self._now(), wanted, self._as_of, PATIENCE_S)

        return self._written(write, wanted)

    def undo(self) -> Answer:
        """Undo an entry; one that is undone already stays so."""
        row = clean(request.form.get("row", ""))[:60]

        def write() -> Recorded:
            try:
                return undo(self._folder, self._now(), row, self._as_of, PATIENCE_S, whole=True)
            except Refusal:
                nursery = load_nursery(self._folder, self._now(), self._as_of, whatever_rules=True)
                voids = [each for each in nursery.every_row if each.what == "void" and each.refers == row]
                if not (row and voids):
                    raise
                return Recorded(tuple(voids), (), Changes((), (), ()), nursery.as_of, again=True)

        if not row:
            return self._refused(Request(""), Refusal(Fact("no_row_named")))
        return self._written(write, Request("undo"))

    def _written(self, write: Callable[[], Recorded], wanted: Request) -> Answer:
        try:
            done = write()
        except Refusal as why:
            return self._refused(wanted, why)
        except (InputFaults, Stopped, OSError) as trouble:
            return _troubled(trouble)
        name = wanted.id or done.rows[0].id
        self._memory.keep(name, done, wanted.but)
        return Response(status=303, headers={"Location": f"{_back()}?said={name}"})

    def _refused(self, wanted: Request, why: Refusal) -> Answer:
        values = {"asked": wanted, "why": page_text(why.fact)}
        return self._shown("log.html", values, status=409)

    def _shown(
        self, template: str, values: Callable[[Reading], dict[str, Any]] | dict[str, Any], status: int = 200
    ) -> Answer:
        """A page of the nursery as it is now; while its files are at fault the page says what to mend.

        Where those are its own rules alone, what was planned last is shown, and a page that needs no plan as it is.
        """
        try:
            seen = look(self._folder, self._now(), self._as_of)
        except InputFaults as trouble:
            last = last_plan(self._folder, self._now(), self._as_of)
            return self._still(last, template, values, status) if last else _troubled(trouble)
        except (Stopped, OSError) as trouble:
            return _troubled(trouble)
        said = clean(request.args.get("said", ""))[:60]
        shared = {
            "nursery": seen.nursery,
            "as_of": seen.plan.as_of,
            "today": weekday(seen.plan.as_of),
            "notices": list(map(told, seen.nursery.notices)),
            "said": self._memory.told(said, seen.nursery, seen.plan) if said else None,
            "back": _back() if request.method == "POST" else request.path,
            "lots_open": [lot.id for lot in seen.nursery.stock.lots.values() if not lot.closed],
        }
        own = values if isinstance(values, dict) else values(seen)
        return make_response(render_template(template, **shared, **own), status)

    def _still(self, last: LastPlan, template: str, values: object, status: int) -> Answer:
        """A page while the nursery's own rules are at fault."""
        nursery, said = last.nursery, clean(request.args.get("said", ""))[:60]
        shared = {
            "nursery": nursery,
            "as_of": nursery.as_of,
            "today": weekday(nursery.as_of),
            "notices": [stands_still(last.written_for, nursery.as_of), *told_all(last.faults)],
            "said": self._memory.told(said, nursery, None) if said else None,
            "still": True,
            "back": _back() if request.method == "POST" else request.path,
            "lots_open": [lot.id for lot in nursery.stock.lots.values() if not lot.closed],
        }
        if isinstance(values, dict):
            return make_response(render_template(template, **shared, **values), status)
        week = [(when, entry) for when, entry in last.entries if 0 <= (when - nursery.as_of).days < _WEEK]
        return make_response(render_template("still.html", **shared, week=week), status)


def add_page(app: Flask, page: Page, let_in: Callable[[], bool]) -> None:
    """Put the page's routes on the application, for those let in alone."""

    def only(view: Callable[..., Answer]) -> Callable[..., Answer]:
        @wraps(view)
        def guarded(**parts: str) -> Answer:
            if not let_in():
                abort(404)
            answer = view(**parts)
            # Under no-referrer a browser tells no origin of a form that is posted (Fetch standard, 3.2), not even to
            # the page's own server; this tells nobody else either.
            answer.headers["Referrer-Policy"] = "same-origin"
            return answer

        return guarded

    for rule, view in (
        ("/", page.bench),
        ("/lots", page.lots),
        ("/lot/<name>", page.lot),
        ("/lot/<name>/year.svg", page.lot_year),
        ("/week", page.week),
        ("/sale", page.sale),
        ("/log", page.log_form),
        ("/look/<name>", _asset),
        ("/chart", page.chart),
        ("/paper/<name>", page.paper),
    ):
        app.add_url_rule(rule, view.__name__, only(view), methods=["GET"], provide_automatic_options=False)
    for rule, write in (("/log", page.log), ("/undo", page.undo)):
        app.add_url_rule(rule, f"post_{write.__name__}", only(write), methods=["POST"], provide_automatic_options=False)
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.jinja_env.globals.update(
        fresh_key=fresh_key, event_label=label, events=EVENTS, every_stage=STAGES, sold_as=sold_as, too_few=too_few
    )
    app.jinja_env.globals.update(held_back=held_back, weekday=weekday, day=day, log_words=log_words)


def _asset(name: str) -> Answer:
    answer = send_from_directory(_ASSETS, name)
    answer.headers["Cache-Control"] = "private, no-cache"
    return answer


def _back() -> str:
    """Where a form came from, if that is a page of ours."""
    named = request.form.get("back", "")
    return named if _BACK.fullmatch(named) else "/"


def _troubled(trouble: Exception) -> Answer:
    """The page while files are at fault, or busy: nothing was written; a phone that kept an entry sends it again."""
    if isinstance(trouble, OSError):
        _LOG.warning("the page: %s", trouble)
    said = told_all(trouble.faults) if isinstance(trouble, InputFaults) else list(map(page_text, troubles(trouble)))
    return make_response(render_template("trouble.html", said=said), 503)
