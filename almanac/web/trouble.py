"""The pages while files are at fault, the nursery is busy or the program stumbled: what to do, and what was tapped.

Nothing here says that something was logged. What was posted goes into the page whole, with its key, so that it can be
sent again as often as needed and is logged once; a page with scripts keeps it by itself.
"""

from __future__ import annotations

import logging
from collections.abc import Mapping, Sequence
from typing import Literal

from flask import Response, make_response, render_template, request
from werkzeug.datastructures import MultiDict

from almanac.faults import Fact, Fault, InputFaults, MachineTrouble, troubles
from almanac.nursery.events import EVENTS
from almanac.web.choices import label
from almanac.web.form import clean
from almanac.words.faults import page_lines

Kind = Literal["files", "busy", "machine", "perhaps", "stumbled"]
# The trouble in a line, as the bar of a page says it that keeps what was tapped.
_WHY: Mapping[Kind, str] = {
    "files": "The nursery's files need mending",
    "busy": "The nursery is busy for a moment",
    "machine": "The computer cannot read or write the nursery's files",
    "perhaps": "The computer could not finish writing",
    "stumbled": "The program stumbled",
}
_AGAIN_S = 5
_LOG = logging.getLogger("stickdate")


def troubled(trouble: Exception) -> Response:
    """The page for what stopped a request: the grower's files, or the machine they lie on."""
    if isinstance(trouble, OSError | MachineTrouble):
        _LOG.warning("the page: %s", trouble)
    return _page(_kind(trouble), troubles(trouble))


def stumbled() -> Response:
    """The page after a defect of ours, of which the log tells more."""
    return _page("stumbled", ())


def missing() -> Response:
    """The page where there is none, for phones that were let in."""
    return make_response(render_template("missing.html"), 404)


def too_long() -> Response:
    """The page for an entry longer than one may be."""
    return make_response(render_template("missing.html", too_long=True), 413)


def _kind(trouble: Exception) -> Kind:
    if isinstance(trouble, InputFaults):
        return "files"
    (fact,) = troubles(trouble)
    match fact.kind if isinstance(fact, Fact) else "":
        case "busy":
            return "busy"
        case "perhaps_written":
            return "perhaps"
        case _:
            return "machine" if isinstance(trouble, OSError | MachineTrouble) else "files"


def _page(kind: Kind, told: Sequence[Fault | Fact]) -> Response:
    """The page, to be asked for again in a while."""
    tapped = request.form if request.method == "POST" else None
    shown = {
        "kind": kind,
        "why": _WHY[kind],
        "lines": page_lines(told),
        "tapped": [(name, value) for name, value in tapped.items(multi=True)] if tapped else [],
        "entry": _entry(tapped) if tapped else "",
        "back": request.path,
    }
    answer = make_response(render_template("trouble.html", **shown), 503)
    answer.headers["Retry-After"] = str(_AGAIN_S)
    return answer


def _entry(fields: MultiDict[str, str]) -> str:
    """What was tapped, in a few words."""
    if request.path == "/undo":
        return "Undo"
    what = clean(fields.get("what", ""))
    about = " ".join(clean(text) for name in ("about", "bin") for text in fields.getlist(name))
    return " ".join(filter(None, (label(what) if what in EVENTS else what[:40], about[:80])))
