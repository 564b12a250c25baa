"""Keep a calendar on the grower's own CalDAV server (RFC 4791) in step with the feed, by the `caldav` client."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date, datetime
from hashlib import sha256
from ipaddress import ip_address
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import unquote, urljoin, urlsplit, urlunsplit

from almanac.actions.look import CALENDAR
from almanac.actions.publish import current, publishing
from almanac.actions.standing import INPUTS, Standing, known, today_there
from almanac.disk import write_whole
from almanac.faults import Fact, Fault, Refusal
from almanac.feed.in_step import Put, There, steps
from almanac.plain import dataclass

if TYPE_CHECKING:
    from caldav.davclient import DAVClient

SCHEMES = {"caldav+https": "https", "caldav+http": "http"}
PASSWORD = "STICKDATE_CALDAV_PASSWORD"
_PATIENCE_S = 30
_STAMP = re.compile(r"([0-9a-f-]{36}) ([0-9]{1,10})")
_REMEMBERED = (
    "# What `stickdate publish` left in a calendar. Remove this file, and what was deleted there comes back.\n"
)
# Every event with its tag (RFC 4791, 7.8).
_QUERY = (
    '<?xml version="1.0" encoding="utf-8"?>'
    '<C:calendar-query xmlns:D="DAV:" xmlns:C="urn:ietf:params:xml:ns:caldav">'
    "<D:prop><D:getetag/><C:calendar-data/></D:prop>"
    '<C:filter><C:comp-filter name="VCALENDAR"><C:comp-filter name="VEVENT"/></C:comp-filter></C:filter>'
    "</C:calendar-query>"
)


@dataclass(frozen=True, kw_only=True)
class Address:
    """Of a calendar: its http address, always with a slash at the end and without user, and the user."""

    url: str
    user: str

    @property
    def host(self) -> str:
        return urlsplit(self.url).netloc


@dataclass(frozen=True, kw_only=True)
class Synced:
    """What a run did there; `away` counts entries deleted there by hand, `left` are those changed there meanwhile."""

    new: int
    changed: int
    deleted: int
    same: int
    away: int
    left: tuple[str, ...]
    faults: tuple[Fault | Fact, ...]


def address(text: str, *, insecure: bool = False) -> Address:
    """Read a target that names a calendar.

    Args:
        text: such as caldav+https://jo@example.org/cal/nursery/
        insecure: whether plain http may go to another machine
    Raises:
        Refusal: it is none, holds a password, or would send one in the clear
    """
    try:
        parts = urlsplit(text)
        _ = parts.port
    except ValueError:
        raise Refusal(Fact("no_address", address=_shown(text))) from None
    if parts.scheme not in SCHEMES or not parts.hostname or parts.query or parts.fragment:
        raise Refusal(Fact("no_calendar_address", address=_shown(text)))
    if parts.password is not None:
        raise Refusal(Fact("password_in_address", variable=PASSWORD))
    if parts.scheme == "caldav+http" and not insecure and not _is_here(parts.hostname):
        raise Refusal(Fact("password_in_clear"))
    path = parts.path if parts.path.endswith("/") else f"{parts.path}/"
    url = urlunsplit((SCHEMES[parts.scheme], parts.netloc.rpartition("@")[2], path, "", ""))
    return Address(url=url, user=unquote(parts.username or ""))


def _shown(text: str) -> str:
    """An address without what stands before the @, which may be a password."""
    head, found, rest = text.rpartition("@")
    return f"{head.partition('//')[0]}//…@{rest}" if found else text


def _is_here(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return False


def read_password(file: Path | None, environment: Mapping[str, str]) -> str:
    """The password: the first line of a file, or else from the environment; empty if neither is given.

    Raises:
        Refusal: the file has none
    """
    if file is None:
        return environment.get(PASSWORD, "")
    try:
        lines = file.read_text(encoding="utf-8").splitlines()
    except UnicodeDecodeError:
        raise Refusal(Fact("password_not_text", file=file)) from None
    if not lines or not lines[0].strip():
        raise Refusal(Fact("password_empty", file=file))
    return lines[0].strip()


def keep_in_step(folder: Path, calendar: Address, password: str, now: datetime, as_of: date | None = None) -> Synced:
    """Bring a calendar in step with a nursery's feed. Only what differs is written; what is not ours is not touched.

    Args:
        calendar: where
        password: of its user
    Raises:
        Refusal: nothing can be published, or the server will not have it
    """
    if not (folder / INPUTS[0]).is_file():
        raise Refusal(Fact("no_nursery", folder=folder, settings=INPUTS[0]))
    if calendar.user and not password:
        raise Refusal(Fact("no_password", user=calendar.user, variable=PASSWORD))
    try:
        from caldav.davclient import DAVClient
    except ImportError:
        raise Refusal(Fact("no_caldav")) from None
    with publishing(folder):
        found = current(folder, now, as_of)
        identity = known(folder)[0]
        if identity is None:
            return Synced(new=0, changed=0, deleted=0, same=0, away=0, left=(), faults=found.faults)
        client = DAVClient(
            url=calendar.url,
            username=calendar.user or None,
            password=password or None,
            timeout=_PATIENCE_S,
            enable_rfc6764=False,
        )
        with client:
            memory = folder / CALENDAR / f"caldav-{sha256(calendar.url.encode()).hexdigest()[:12]}.txt"
            day = as_of or today_there(folder, now)
            return _brought_in_step(client, calendar, found, identity, day, memory)


def _brought_in_step(
    client: DAVClient, calendar: Address, found: Standing, identity: str, day: date, memory: Path
) -> Synced:
    before = _remembered(memory)
    everything = found.feeds["everything"]
    wanted = steps(everything, _all_there(client, calendar), identity, day, before, whole=not found.faults)
    done = [put for put in wanted.put if _done(client, calendar, put)]
    for each in wanted.delete:
        answer = _asked(client, calendar, "DELETE", urljoin(calendar.url, each.href), "", {"If-Match": each.tag})
        if answer.status not in (404, 410, 412):
            _expect(answer.status, calendar)
    old = before if found.faults else {}
    _remember(memory, {**old, **wanted.same, **wanted.away, **{put.uid: put.sequence for put in done}})
    left = tuple(put.id for put in wanted.put if put not in done)
    new = sum(put.over is None for put in done)
    return Synced(
        new=new,
        changed=len(done) - new,
        deleted=len(wanted.delete),
        same=len(wanted.same),
        away=len(wanted.away),
        left=left,
        faults=found.faults,
    )


def _remembered(memory: Path) -> dict[str, int]:
    """By UID the stamps of what an earlier run left in that calendar; a line that is none is passed over."""
    text = memory.read_text(encoding="utf-8", errors="replace") if memory.is_file() else ""
    found = map(_STAMP.fullmatch, text.splitlines())
    return {line[1]: int(line[2]) for line in found if line}


def _remember(memory: Path, stamps: Mapping[str, int]) -> None:
    text = _REMEMBERED + "".join(f"{uid} {stamp}\n" for uid, stamp in sorted(stamps.items()))
    if not memory.is_file() or memory.read_bytes() != text.encode():
        memory.parent.mkdir(exist_ok=True)
        write_whole(memory, text.encode())


def _all_there(client: DAVClient, calendar: Address) -> list[There]:
    """Every event of the calendar, once it is known to be one."""
    kind = _asked(client, calendar, "PROPFIND", calendar.url, _KIND, {"Depth": "0"})
    if kind.status == 404:
        raise Refusal(Fact("no_calendar_there", url=calendar.url))
    _expect(kind.status, calendar)
    found = [each.properties.get("{DAV:}resourcetype") for each in kind.parse_propfind() if each.status == 200]
    if not any("{urn:ietf:params:xml:ns:caldav}calendar" in (each or ()) for each in found):
        if all(each.status == 404 for each in kind.parse_propfind()):
            raise Refusal(Fact("no_calendar_there", url=calendar.url))
        raise Refusal(Fact("not_calendar_there", url=calendar.url))
    answer = _asked(client, calendar, "REPORT", calendar.url, _QUERY, {"Depth": "1"})
    _expect(answer.status, calendar)
    return [
        There(href=each.href, tag=each.etag or "*", text=each.calendar_data)
        for each in answer.parse_calendar_query()
        if each.calendar_data
    ]


_KIND = (
    '<?xml version="1.0" encoding="utf-8"?><D:propfind xmlns:D="DAV:"><D:prop><D:resourcetype/></D:prop></D:propfind>'
)


def _done(client: DAVClient, calendar: Address, put: Put) -> bool:
    """Write an entry, unless another program wrote it meanwhile (RFC 9110, 13.1)."""
    where = urljoin(calendar.url, put.over.href if put.over else f"{put.uid}.ics")
    only = {"If-Match": put.over.tag} if put.over else {"If-None-Match": "*"}
    head = {"Content-Type": "text/calendar; charset=utf-8", **only}
    answer = _asked(client, calendar, "PUT", where, put.body.decode("utf-8"), head)
    if answer.status in (409, 412):
        return False
    _expect(answer.status, calendar)
    return True


def _asked(client: DAVClient, calendar: Address, method: str, url: str, body: str, head: Mapping[str, str]) -> Any:
    """Ask the server; what can go wrong on the way is told in one line, without what was sent."""
    from caldav.lib.error import AuthorizationError, DAVError

    try:
        return client.request(url, method, body, dict(head))
    except AuthorizationError as error:
        if error.status == 403 and calendar.user:
            raise Refusal(Fact("user_not_let", host=calendar.host, user=calendar.user)) from None
        if error.status == 403:
            raise Refusal(Fact("someone_not_let", host=calendar.host)) from None
        raise Refusal(Fact("user_not_accepted", host=calendar.host)) from None
    except DAVError:
        raise Refusal(Fact("no_answer", host=calendar.host)) from None
    except OSError as error:
        if "SSL" in type(error).__name__:
            raise Refusal(Fact("certificate_not_accepted", host=calendar.host)) from None
        raise Refusal(Fact("not_reached", host=calendar.host)) from None


def _expect(status: int, calendar: Address) -> None:
    if not 200 <= status < 300:
        raise Refusal(Fact("answered_with", host=calendar.host, status=status))
