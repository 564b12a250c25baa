"""From what a phone posts to what is asked to be logged. Pure.

The row's id is what makes a repeat harmless. A phone that hears no answer sends again, so each form has a key, which
becomes the id of the row, looked for under the lock that spans check and append; a table of keys seen would be a second
memory to lose. To the key is added a mark of what the form says, so that another tap in a form used before (the back
button) is an entry of its own. Of several rows the last has the id and those before it `id.1`, `id.2`.
"""

from __future__ import annotations

import hashlib
import re
import secrets

from werkzeug.datastructures import MultiDict

from almanac.actions.request import Request
from almanac.faults import Fact, Refusal
from almanac.nursery.events import ALIASES
from almanac.nursery.logbook import LONGEST_COUNT
from almanac.web.choices import group_of

_KEY = re.compile(r"[a-qs-z][a-z0-9]{9,31}")
_LONGEST = 400  # letters of one field, as a logbook is read line by line
_LETTERS = "abcdefghjkmnpqstuvwxyz23456789"  # none that is taken for another
_ABOUT = re.compile(r"[^\s,;]+")
Fields = MultiDict[str, str]


def fresh_key() -> str:
    """A key for one form, never given twice."""
    return "p" + "".join(secrets.choice(_LETTERS) for _ in range(11))


def asked(fields: Fields) -> Request:
    """What a form asks to log.

    Its id is the form's key and a mark of what it says: the same sent again is the same, while another tap in a form
    that was used already is an entry of its own.

    Raises:
        Refusal: a field cannot be read
    """
    what = _one(fields, "what").lower()
    what = ALIASES.get(what, what)
    group = _one(fields, "group") or group_of(what)
    place = _one(fields, "bin") or _one(fields, f"bin.{group}")
    everything = bool(fields.get("everything"))
    but = tuple(fields.getlist(f"but.{place}")) if place else ()
    if everything:
        what, but = "looked", tuple(lot for name in fields if name.startswith("but.") for lot in fields.getlist(name))
    count = _one(fields, f"count.{group}") or _one(fields, "count.next")
    if count and not re.fullmatch(LONGEST_COUNT, count):
        raise Refusal(Fact("form_count", count=count))
    about = tuple(word for text in fields.getlist("about") for word in _ABOUT.findall(clean(text)))
    request = Request(
        what=what,
        about=about,
        on=_one(fields, "on") or "today",
        count=int(count) if count else None,
        bin=place,
        stage=_one(fields, f"stage.{group}"),
        variety=_one(fields, "variety"),
        value=_one(fields, f"value.{group}") or _one(fields, "value.next"),
        refers=_one(fields, "refers"),
        note=_one(fields, "note"),
        everything=everything,
        but=tuple(map(clean, but)),
        force=bool(fields.get("force")),
        unit_named=True,
        signs=_signs(fields, place, everything=everything) if what == "looked" and not about else None,
    )
    return _with_id(request, _one(fields, "key"))


def _signs(fields: Fields, place: str, *, everything: bool) -> tuple[str, ...] | None:
    """The lots that the page asked to be looked through for signs, in a bin or anywhere; None where it does not say."""
    named = [name for name in fields if name.startswith("asks.") and (everything or name == f"asks.{place}")]
    return tuple(word for name in named for word in _ABOUT.findall(clean(fields[name]))) if named else None


def count_typed(fields: Fields) -> str:
    """The count of a form as it was typed, whether or not it can be read."""
    counts = (clean(text)[:20] for name, text in fields.items() if name.startswith("count."))
    return next(filter(None, counts), "")


def as_typed(fields: Fields) -> Request:
    """What a form says as far as it can be read, to be filled in again."""
    what = clean(fields.get("what", ""))[:40].lower()
    what = ALIASES.get(what, what)
    group = clean(fields.get("group", "")) or group_of(what)

    def said(name: str) -> str:
        return clean(fields.get(f"{name}.{group}", "") or fields.get(f"{name}.next", ""))[:_LONGEST]

    count = said("count")
    return Request(
        what=what,
        about=tuple(word for text in fields.getlist("about") for word in _ABOUT.findall(clean(text)[:_LONGEST])),
        on=clean(fields.get("on", ""))[:20] or "today",
        count=int(count) if re.fullmatch(LONGEST_COUNT, count) else None,
        bin=clean(fields.get("bin", ""))[:60] or said("bin"),
        stage=said("stage"),
        variety=clean(fields.get("variety", ""))[:60],
        value=said("value"),
        refers=clean(fields.get("refers", ""))[:60],
        note=clean(fields.get("note", "")),
        everything=bool(fields.get("everything")),
        but=tuple(clean(lot) for name in fields if name.startswith("but.") for lot in fields.getlist(name)),
    )


def along(request: Request, key: str) -> list[tuple[str, str]]:
    """What an entry says that its form has no field for, to be sent along; and the key of the form that it mends."""
    left_out = [(f"but.{request.bin}", lot) for lot in request.but]
    everything = [("everything", "yes")] if request.everything else []
    variety = [("variety", request.variety)] if request.variety and request.about else []
    signs = [] if request.signs is None else [(f"asks.{request.bin}", " ".join(request.signs))]
    mends = [("mends", key)] if _KEY.fullmatch(key) else []
    return [*left_out, *everything, *signs, *variety, *mends]


def clean(text: str) -> str:
    """A field as one line of text: no control characters, no line breaks."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())


def _one(fields: Fields, name: str) -> str:
    text = clean(fields.get(name, ""))
    if len(text) > _LONGEST:
        raise Refusal(Fact("form_too_long", field=name.partition(".")[0], letters=len(text), most=_LONGEST))
    return text


def _with_id(request: Request, key: str) -> Request:
    if not _KEY.fullmatch(key):
        raise Refusal(Fact("form_without_key"))
    said = repr((request.what, request.about, request.on, request.count, request.bin, request.stage, request.variety))
    said += repr((request.value, request.refers, request.note, request.everything, request.but))
    said += repr(request.signs) if request.signs is not None else ""
    mark = hashlib.sha256(said.encode("utf-8", "replace")).hexdigest()[:4]
    return Request(**{**request.__dict__, "id": key + mark})
