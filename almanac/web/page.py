"""The bench page: what phones that were let in see, and how they log. Others are told nothing.

The page is forms, and a script that keeps them. All works as plain posts and a 303 to where it was, so that it works in
any browser and the tests need none. `page.js` sends the same forms itself, keeps each in the page and its storage until
the answer was a confirmation of ours, and puts the new `main` in place without losing what is half filled in. The
referrer policy is `same-origin`: under `no-referrer` a browser calls the origin of a form `null`, and posts are let in
by origin.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import Any

from flask import Response, abort, make_response, render_template, request

from almanac.actions.last_plan import LastPlan, last_plan
from almanac.actions.look import Reading
from almanac.actions.paper import bench_sheets
from almanac.actions.record import record
from almanac.actions.request import Request
from almanac.actions.undo import undo, undoing
from almanac.actions.writing import Recorded
from almanac.faults import Fact, InputFaults, Refusal
from almanac.nursery.events import EVENTS
from almanac.nursery.load import load_nursery
from almanac.nursery.nursery import Nursery
from almanac.pictures.lot_year import lot_picture
from almanac.pictures.svg import svg
from almanac.plan.changes import Changes
from almanac.plan.model import Plan
from almanac.plan.wood.forsale import offers
from almanac.web.bench import bench_of, card_of, week_of
from almanac.web.due import Asked, round_lines
from almanac.web.fields import INSISTED, fields_of, groups, why_by_field
from almanac.web.form import along, as_typed, asked, clean, count_typed
from almanac.web.one_lot import ahead_of, marks_of, reasons_of
from almanac.web.paper import PAPERS, charts
from almanac.web.readings import Readings
from almanac.web.said import Memory, asking, entries, history
from almanac.words.dates import weekday
from almanac.words.faults import page_lines, page_text
from almanac.words.for_sale import order_now
from almanac.words.notices import stands_still
from almanac.words.tasks import cautions

_LAST = 8
_WEEK = 7
PATIENCE_S = 8.0  # the page itself gives up after 12
_BACK = re.compile(r"/(lot/[1-9][0-9]{0,5}[a-z]{1,3}|week|lots|sale|chart|calendar)?")
_ASIDE = re.compile("/(log|undo)/")  # pages that lead back to the one they came from
Now = Callable[[], datetime]


class StandsStill(Exception):
    """What was asked for cannot be planned at present; `page` shows what was planned last."""

    def __init__(self, page: Response) -> None:
        self.page = page
        super().__init__()


class Page:
    """The page of one nursery."""

    def __init__(self, folder: Path, now: Now, as_of: date | None) -> None:
        self.folder, self._now, self._as_of = folder, now, as_of
        self._readings = Readings(folder, now, as_of)
        self._memory = Memory()

    def bench(self) -> Response:
        seen = self._seen()
        printed = bench_sheets(seen)[0]
        told = cautions(printed.cautions, seen.nursery.book)
        last = entries(seen.nursery, _LAST)
        return self._shown("bench.html", seen, bench=bench_of(seen), last=last, printed=printed, printed_cautions=told)

    def lots(self) -> Response:
        seen = self._seen()
        every, asked = seen.nursery.stock.lots.values(), Asked(seen.plan)
        cards = [card_of(seen, lot, asked) for lot in sorted(every, key=lambda lot: lot.closed)]
        return self._shown("lots.html", seen, cards=cards)

    def lot(self, name: str) -> Response:
        seen = self._seen()
        lot = seen.nursery.stock.lots.get(name) or abort(404)
        card = card_of(seen, lot, Asked(seen.plan, round_lines(seen.plan)), whole=True)
        reasons = reasons_of(seen, lot)
        return self._shown(
            "lot.html",
            seen,
            card=card,
            ahead=ahead_of(seen, card, reasons),
            marks=marks_of(seen, lot),
            reasons=reasons,
            history=history(name, seen.nursery),
        )

    def week(self) -> Response:
        seen = self._seen()
        return self._shown("week.html", seen, days=week_of(seen))

    def sale(self) -> Response:
        seen = self._seen()
        orders = [order_now(order, seen.plan.as_of) for order in seen.nursery.orders.values() if order.open]
        return self._shown("sale.html", seen, offers=offers(seen.nursery), orders=orders)

    def chart(self) -> Response:
        """The season as a picture, and all that can be printed."""
        seen = self._seen()
        return self._shown("chart.html", seen, charts=charts(seen), papers=PAPERS)

    def paper(self, name: str) -> Response:
        """A picture or a paper as a file of its own."""
        if name not in PAPERS:
            abort(404)
        paper = PAPERS[name]
        answer = Response(paper.make(self._readings.get(), request.host_url), mimetype=paper.mimetype)
        answer.headers["Content-Disposition"] = f"inline; filename={name}"
        return answer

    def lot_year(self, name: str) -> Response:
        """One lot's year as a picture."""
        seen = self._readings.get()
        lot = seen.nursery.stock.lots.get(name) or abort(404)
        return Response(svg(lot_picture(lot, seen.plan, seen.nursery)), mimetype="image/svg+xml")

    def events(self) -> Response:
        """All that can be logged, to choose from."""
        return self.plain("events.html", self.loaded(), event_groups=groups())

    def entry(self, what: str) -> Response:
        """The form of one event, with what the address says of it filled in."""
        if what not in EVENTS or what == "void":
            abort(404)
        about = tuple(clean(word)[:20] for word in request.args.getlist("about"))
        return self._form(Request(what=what, about=about, bin=clean(request.args.get("bin", ""))[:60]))

    def log(self) -> Response:
        """Log what a form says, and go back to where it was with the confirmation."""
        try:
            wanted = asked(request.form)
        except Refusal as why:
            return self._refused(as_typed(request.form), why)
        return self._written(lambda: record(self.folder, self._now(), wanted, self._as_of, PATIENCE_S), wanted)

    def ask_undo(self, row: str) -> Response:
        """What undoing an entry would do, and the button that does it."""
        return self._undo_form(clean(row)[:60])

    def undo(self) -> Response:
        """Undo an entry; one that is undone already stays so. What is not the last thing done is asked about first."""
        row, sure = clean(request.form.get("row", ""))[:60], bool(request.form.get("force"))

        def write() -> Recorded:
            try:
                return undo(self.folder, self._now(), row, self._as_of, PATIENCE_S, whole=True, last_only=not sure)
            except Refusal as why:
                if why.fact.kind != "undone_already":
                    raise
                nursery = self.loaded()
                voids = [each for each in nursery.every_row if each.what == "void" and each.refers == row]
                nothing = Changes(moved=(), added=(), removed=())
                return Recorded(
                    rows=tuple(voids[-1:]),
                    made=(),
                    changes=nothing,
                    as_of=nursery.as_of,
                    again=True,
                    called=nursery.settings.called,
                )

        if not row:
            return self._refused(Request(what=""), Refusal(Fact("no_row_named")))
        return self._written(write, Request(what="undo", about=(row,)))

    def _written(self, write: Callable[[], Recorded], wanted: Request) -> Response:
        try:
            done = write()
        except Refusal as why:
            if why.fact.kind in ("not_the_last", "rested_on"):
                return self._undo_form(wanted.about[0], status=409)
            return self._refused(wanted, why)
        name = wanted.id or done.rows[0].id
        self._memory.keep(name, done, wanted.but)
        return Response(status=303, headers={"Location": f"{_back()}?said={name}"})

    def _refused(self, wanted: Request, why: Refusal) -> Response:
        """What was asked for as a form, filled, with what to mend in it; all events where it is none of them."""
        if wanted.what not in EVENTS or wanted.what == "void":
            told = page_text(why.fact)
            return self.plain("events.html", self.loaded(), 409, event_groups=groups(), refusal=told)
        return self._form(wanted, why.fact)

    def _form(self, wanted: Request, why: Fact | None = None) -> Response:
        event, nursery = EVENTS[wanted.what], self.loaded()
        by_field, above = why_by_field(why, event) if why else ({}, ())
        fields = fields_of(event, nursery, wanted, by_field, count_typed(request.form))
        told = {"refusal": page_text(why), "above": above, "insist": why.kind in INSISTED} if why else {}
        sent = along(wanted, clean(request.form.get("key", "")))
        status = 409 if why else 200
        return self.plain("entry.html", nursery, status, event=event, fields=fields, along=sent, **told)

    def _undo_form(self, row: str, status: int = 200) -> Response:
        try:
            nursery = self.loaded()
            asked_of = asking(undoing(nursery, row), nursery)
        except Refusal as why:
            return self._refused(Request(what=""), why)
        return self.plain("undo.html", nursery, status, undoing=asked_of)

    def _seen(self) -> Reading:
        """The plan as it is now.

        Raises:
            StandsStill: the nursery's own rules alone are at fault
        """
        try:
            return self._readings.get()
        except InputFaults:
            last = last_plan(self.folder, self._now(), self._as_of)
            if last is None:
                raise
            raise StandsStill(self._still(last)) from None

    def _shown(self, template: str, seen: Reading, **values: Any) -> Response:
        shared = self._shared(seen.nursery, seen.plan)
        return make_response(render_template(template, **shared, **values))

    def loaded(self) -> Nursery:
        """The nursery without its plan, and so while its own rules are at fault, too."""
        return load_nursery(self.folder, self._now(), self._as_of, whatever_rules=True)

    def plain(self, template: str, nursery: Nursery, status: int = 200, **values: Any) -> Response:
        """A page that needs no plan."""
        return make_response(render_template(template, **self._shared(nursery, None), **values), status)

    def _still(self, last: LastPlan) -> Response:
        """What was planned last, while the nursery's own rules are at fault."""
        shared = self._shared(last.nursery, None)
        shared["notices"] = [stands_still(last.written_for, last.nursery.as_of), *shared["notices"]]
        day = last.nursery.as_of
        week = [(when, entry) for when, entry in last.entries if 0 <= (when - day).days < _WEEK]
        return make_response(render_template("still.html", **shared, week=week))

    def _shared(self, nursery: Nursery, plan: Plan | None) -> dict[str, Any]:
        """What every page shows."""
        said, aside = clean(request.args.get("said", ""))[:60], _ASIDE.match(request.path)
        return {
            "nursery": nursery,
            "as_of": nursery.as_of,
            "today": weekday(nursery.as_of),
            "notices": [*page_lines(nursery.rules_wrong), *map(page_text, nursery.notices)],
            "said": self._memory.told(said, nursery, plan) if said else None,
            "still": bool(nursery.rules_wrong),
            "back": _back() if request.method == "POST" or aside else request.path,
            "lots_open": [lot.id for lot in nursery.stock.lots.values() if not lot.closed],
        }


def _back() -> str:
    """Where a form came from, if that is a page of ours."""
    named = request.values.get("back", "")
    return named if _BACK.fullmatch(named) else "/"
