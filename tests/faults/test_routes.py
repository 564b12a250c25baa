"""Requests made up at random: whatever is asked, by strangers or by a phone let in, nothing breaks, leaks or is lost.

STICKDATE_ROUTES says how many are tried (500 if not said: some seconds); each follows from its number alone, so that a
failure can be repeated. Every route that the application has is tried, those that come later too.
"""

from __future__ import annotations

import io
import os
import random
import socket
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from flask import Flask

from almanac.nursery.load import load_nursery
from almanac.web.app import create_app
from almanac.web.keys import FILE, Keys, load_keys
from almanac.web.server import listening
from tests.nurseries import bench

TRIES = int(os.environ.get("STICKDATE_ROUTES", "500"))
LOG = """
2027-01-05 received 7a --count 12 --stage rooting --bin A
2027-01-05 received 8a --count 30 --stage rooting --bin A
2027-01-12 looked 7a
"""
OF_NURSERY = ("BEGIN:VCALENDAR", "Quince Lane", "Copper Kettle", "Blue Ladder")
NOW = datetime(2027, 1, 13, 17, tzinfo=UTC)
SLOW = 160
GROWERS = (
    "nursery.toml",
    "varieties.csv",
    "logbook.csv",
    "orders.csv",
    "logbook.backup.csv",
    "orders.backup.csv",
    FILE,
)
METHODS = (
    "GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "CONNECT", "PROPFIND", "get", "LOCK", "",
    "\x00",
    "A" * 300,
)  # fmt: skip
PIECES = (
    "..", ".", "", "%2e%2e", "%2f", "%00", "%", "%zz", "%ff", "\\", "..\\", ";", "?", "#", "~", "nursery.toml", FILE,
    "logbook.csv", "everything.ics", "bench.ics", "static", "favicon.ico", "robots.txt", "7a", "7a/../8a",
    "\u00e9", "7" * 400,
    "<script>alert(1)</script>", "\r\nX-Odd: 1", "\x00", "'\"", "{{7*7}}", "x" * 5000, "-1", "0", "A", "all", "None",
)  # fmt: skip
ODD = (
    "", "*", '"', '""', 'W/"x"', '"a", "b"', "\x00", "\r\n", "-1", "0", "9" * 40, "bytes=0-", "bytes=-5", "bytes=9-1",
    "bytes=0-0,2-3", "Thu, 01 Jan 1970 00:00:00 GMT", "Thu, 99 Foo 0000", "null", "http://localhost",
    "https://evil.example",
    "http://localhost:99999", "http://[::1", "localhost", "x" * 9000, "\u00e9\u4e2d", "application/json",
    "text/html;charset=",
    "application/x-www-form-urlencoded", "multipart/form-data", "multipart/form-data; boundary=x", "chunked", "gzip",
    "../../etc/passwd", "${jndi:x}",
)  # fmt: skip
HEADERS = (
    "IF_NONE_MATCH", "IF_MATCH", "IF_MODIFIED_SINCE", "IF_UNMODIFIED_SINCE", "RANGE", "IF_RANGE", "ORIGIN", "REFERER",
    "COOKIE", "ACCEPT", "ACCEPT_ENCODING", "ACCEPT_LANGUAGE", "X_FORWARDED_HOST", "X_FORWARDED_FOR",
    "X_FORWARDED_PROTO",
    "X_HTTP_METHOD_OVERRIDE", "X_ORIGINAL_URL", "EXPECT", "TRANSFER_ENCODING", "AUTHORIZATION", "FORWARDED", "UPGRADE",
)  # fmt: skip
FIELDS = (
    "what", "lot", "lots", "bin", "count", "date", "note", "id", "value", "row", "undo", "stage", "except", "key",
    "variety",
    "next", "all", "event", "to", "mark", "about", "on", "back", "group", "everything", "but.A", "force", "count.gone",
    "bin.any", "value.any", "refers",
)  # fmt: skip
VALUES = (
    "looked", "leaves", "roots", "potted", "sold", "void", "7a", "8a", "7zz", "A", "B", "1", "0", "-1", "12.5",
    "9" * 30,
    "2027-01-13", "2027-01-14", "2099-01-01", "0001-01-01", "x", "", "=1+1", "a\nb", "a\r\nX: y", "\x00",
    "\u2028", "'\"<b>&",
    "<script>alert(1)</script>", "END:VEVENT\r\nBEGIN:VEVENT", "y" * 3000, "\ud7ff", "../../x", "true", "on", "r1",
    "pabcdefghjk2", "/lot/7a", "any",
)  # fmt: skip


def near(key: str, chance: random.Random) -> str:
    """A key that is nearly the one, and never is."""
    at = chance.randrange(len(key))
    other = chance.choice("abcXYZ019-_")
    found = chance.choice(
        (
            key[:-1],
            key + other,
            key.swapcase(),
            key[::-1],
            key[:at] + other + key[at + 1 :],
            f"{key}.",
            key[1:],
            key[:8],
        )
    )
    return found if found != key else f"{key}x"


class Asker:
    """Makes requests up, for one who knows the keys or for a stranger."""

    def __init__(self, app: Flask, keys: Keys, *, let_in: bool) -> None:
        self.app, self.keys, self.let_in = app, keys, let_in
        self.rules = sorted({rule.rule for rule in app.url_map.iter_rules()})

    def path(self, chance: random.Random) -> str:
        """Some route's own path, filled in and perhaps spoiled, or one made up."""
        if not self.let_in and chance.random() < 0.1:
            return f"/f/{self.keys.read}/everything.ics"  # the one thing a stranger may have
        if chance.random() < 0.15:
            return "/" + "/".join(chance.choice(PIECES) for _ in range(chance.randint(0, 5)))
        path = chance.choice(self.rules)
        while "<" in path:
            head, _, rest = path.partition("<")
            name, _, tail = rest.partition(">")
            path = head + self.word(name.rpartition(":")[2], chance) + tail
        if chance.random() < 0.25:
            at = chance.randrange(len(path) + 1)
            path = path[:at] + chance.choice(("/", "//", "/./", "")) + chance.choice(PIECES) + path[at:]
        return path

    def word(self, name: str, chance: random.Random) -> str:
        if name == "key":
            key = chance.choice((self.keys.read, self.keys.write))
            right = chance.random() < 0.4 and (self.let_in or key == self.keys.read)
            return key if right else near(key, chance)
        known = ("everything", "bench", "seasons", "sales", "7a", "8a", "A", "7", "fig", "2027-01-13", "season.svg")
        return chance.choice(known) if chance.random() < 0.6 else chance.choice(PIECES).replace("/", "")

    def body(self, chance: random.Random) -> bytes:
        kind = chance.random()
        if kind < 0.2:
            return b""
        if kind < 0.3:
            return chance.randbytes(chance.randint(1, 400))
        if kind < 0.34:
            return b"a=" + b"x" * chance.choice((65_000, 65_537, 200_000))
        if kind < 0.4:
            return b'--x\r\nContent-Disposition: form-data; name="note"; filename="a"\r\n\r\n' + chance.randbytes(50)
        pairs = ((chance.choice(FIELDS), chance.choice(VALUES)) for _ in range(chance.randint(1, 8)))
        return "&".join(f"{name}={quote(value)}" for name, value in pairs).encode()

    def environ(self, number: int) -> dict[str, Any]:
        """One request, as a server hands it on (PEP 3333)."""
        chance = random.Random(number)
        path, body = self.path(chance), self.body(chance)
        raw, _, query = path.partition("?")
        environ: dict[str, Any] = {
            "REQUEST_METHOD": chance.choice(("GET", "GET", "POST", "POST", chance.choice(METHODS))),
            "SCRIPT_NAME": "",
            "PATH_INFO": raw.encode("utf-8").decode("latin-1"),
            "QUERY_STRING": query.encode("utf-8").decode("latin-1"),
            "SERVER_NAME": "localhost",
            "SERVER_PORT": "8765",
            "SERVER_PROTOCOL": "HTTP/1.1",
            "REMOTE_ADDR": "192.0.2.7",
            "HTTP_HOST": "localhost:8765",
            "HTTP_ORIGIN": "http://localhost:8765",
            "CONTENT_TYPE": "application/x-www-form-urlencoded",
            "CONTENT_LENGTH": str(len(body)),
            "wsgi.version": (1, 0),
            "wsgi.url_scheme": "http",
            "wsgi.input": io.BytesIO(body),
            "wsgi.errors": io.StringIO(),
            "wsgi.multithread": True,
            "wsgi.multiprocess": False,
            "wsgi.run_once": False,
        }
        cookie = self.keys.phone if self.let_in and chance.random() < 0.8 else near(self.keys.phone, chance)
        environ["HTTP_COOKIE"] = f"{(self.keys.cookie, 'stickdate_phone')[number % 2]}={cookie}"
        for _ in range(chance.choice((0, 0, 1, 3))):
            environ[f"HTTP_{chance.choice(HEADERS)}"] = self.odd(chance)
        if chance.random() < 0.1:
            environ["HTTP_HOST"] = chance.choice(
                ("rebound.example", "localhost.", "localhost@evil", "", "[", "a" * 300, "\x00")
            )
        if chance.random() < 0.1:
            environ["CONTENT_TYPE"] = self.odd(chance)
        if chance.random() < 0.1:
            environ["CONTENT_LENGTH"] = chance.choice(("", "-1", "abc", "0", "999999999", str(len(body) + 5)))
        return environ

    def odd(self, chance: random.Random) -> str:
        value = chance.choice(ODD)
        return value.encode("utf-8").decode("latin-1")

    def ask(self, number: int) -> tuple[int, dict[str, str], bytes]:
        """Ask, and give status, headers and body; a defect of ours is raised, not answered."""
        seen: list[Any] = []

        def start(status: str, headers: list[tuple[str, str]], _: object = None, /) -> Callable[[bytes], object]:
            seen.extend((status, headers))
            return seen.append

        found = self.app.wsgi_app(self.environ(number), start)
        body = b"".join(found)
        getattr(found, "close", lambda: None)()
        return int(seen[0].split()[0]), dict(seen[1]), body


@pytest.fixture
def nursery(tmp_path: Path) -> Path:
    bench(tmp_path, LOG, NOW.date(), bins=("A", "B"))
    return tmp_path


def made(nursery: Path, *, let_in: bool) -> Asker:
    """The application, with defects raised instead of answered like everything else that is not there."""
    app = create_app(nursery, lambda: NOW, ["localhost"])
    app.config["PROPAGATE_EXCEPTIONS"] = True
    return Asker(app, load_keys(nursery), let_in=let_in)


def of_grower(nursery: Path) -> dict[str, bytes]:
    return {name: (nursery / name).read_bytes() for name in GROWERS if (nursery / name).exists()}


def test_a_stranger_breaks_nothing_writes_nothing_and_learns_nothing(nursery: Path) -> None:
    asker = made(nursery, let_in=False)
    files = of_grower(nursery)
    reached: Counter[int] = Counter()
    keys, secret = asker.keys, (asker.keys.write, asker.keys.phone, asker.keys.read, str(nursery))

    for number in range(TRIES):
        status, headers, body = asker.ask(number)

        reached[status] += 1
        assert status < 500, number
        told = body.decode("utf-8", "replace") + str(headers)
        assert not any(each in told for each in secret), number
        assert "Traceback" not in told, number
        assert "X-Odd" not in headers, number
        if keys.read not in asker.environ(number)["PATH_INFO"]:
            assert not any(each in told for each in OF_NURSERY), number
    assert of_grower(nursery) == files
    assert reached[200] > TRIES / 100  # what was asked was not all nonsense, though most routes give a stranger nothing


def test_a_phone_let_in_breaks_nothing_whatever_it_sends(nursery: Path) -> None:
    asker = made(nursery, let_in=True)
    rows = (nursery / "logbook.csv").read_bytes()
    rest = {name: body for name, body in of_grower(nursery).items() if not name.startswith(("logbook", "orders"))}

    for number in range(TRIES):
        status, _, body = asker.ask(number)

        assert status < 500, number
        assert asker.keys.write.encode() not in body, number
        assert asker.keys.phone.encode() not in body, number
    assert (nursery / "logbook.csv").read_bytes().startswith(rows)
    assert {name: body for name, body in of_grower(nursery).items() if name in rest} == rest
    load_nursery(nursery, NOW)  # whatever was logged can be read


@pytest.fixture
def served(nursery: Path) -> Iterator[tuple[int, Keys]]:
    """The application, listening on a port of its own."""
    server = listening(create_app(nursery, lambda: NOW, ["localhost"]), "127.0.0.1", 0)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    yield server.effective_port, load_keys(nursery)
    server.task_dispatcher.shutdown()
    server.close()


def spoiled(chance: random.Random, path: str) -> bytes:
    """A request as bytes, not always one."""
    body = chance.randbytes(chance.choice((0, 0, 10, 3000)))
    ends = chance.choice(("\r\n", "\r\n", "\r\n", "\n", "\r"))
    lines = [
        f"{chance.choice(METHODS)} {path} HTTP/{chance.choice(('1.1', '1.0', '1.1', '2.0', '9', 'x'))}",
        f"Host: {chance.choice(('localhost', 'localhost', 'rebound.example', '', '[', 'a b'))}",
        f"{chance.choice(HEADERS).replace('_', '-')}: {chance.choice(ODD)}",
        f"Content-Length: {chance.choice((str(len(body)), '0', '-1', 'x', '5, 6', '99999999999'))}",
        chance.choice(("Transfer-Encoding: chunked", "X: y", " folded", ":", "no colon", "Content-Length: 3")),
        "Connection: close",
    ]
    data = (ends.join(lines) + ends * 2).encode("utf-8", "replace") + body
    if chance.random() < 0.2:
        at = chance.randrange(len(data))
        data = data[:at] + chance.randbytes(3) + data[at + 2 :]
    return data


def test_bytes_that_are_hardly_a_request_break_nothing(served: tuple[int, Keys]) -> None:
    port, keys = served
    for number in range(TRIES // 5):
        chance = random.Random(number)
        with socket.create_connection(("127.0.0.1", port), timeout=10) as connection:
            connection.sendall(spoiled(chance, f"/f/{near(keys.read, chance)}/bench.ics"))
            connection.shutdown(socket.SHUT_WR)
            answer = b""
            try:
                while piece := connection.recv(65536):
                    answer += piece
            except ConnectionResetError:
                pass

        assert not answer or answer.split(b" ", 2)[1][:1] in (b"2", b"3", b"4") or b" 501 " in answer[:20], number
        assert keys.read.encode() not in answer, number
        assert b"BEGIN:VCALENDAR" not in answer, number
        assert b"Traceback" not in answer, number
    with socket.create_connection(("127.0.0.1", port), timeout=10) as connection:
        connection.sendall(
            f"GET /f/{keys.read}/bench.ics HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n".encode()
        )
        assert connection.recv(65536).startswith(b"HTTP/1.1 200 ")


def asked_for_a_feed(port: int, keys: Keys) -> float:
    """How long a feed takes [s]."""
    began = time.monotonic()
    with socket.create_connection(("127.0.0.1", port), timeout=10) as connection:
        request = f"GET /f/{keys.read}/bench.ics HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n"
        connection.sendall(request.encode())
        assert connection.recv(65536).startswith(b"HTTP/1.1 200 ")
    return time.monotonic() - began


def test_connections_held_open_by_strangers_keep_nobody_out(served: tuple[int, Keys]) -> None:
    port, keys = served
    asked_for_a_feed(port, keys)
    with ExitStack() as stack:
        held = [stack.enter_context(socket.create_connection(("127.0.0.1", port), timeout=10)) for _ in range(SLOW)]
        for each in held[::2]:
            each.sendall(b"POST /log HTTP/1.1\r\nHost: localhost\r\nContent-Length: 60000\r\n\r\na=")

        assert asked_for_a_feed(port, keys) < 2


def test_who_sends_a_letter_at_a_time_is_cut_off(served: tuple[int, Keys], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("almanac.web.server._PATIENCE_S", 0.5)
    with socket.create_connection(("127.0.0.1", served[0]), timeout=10) as slow:

        def dribble() -> None:
            for letter in b"GET /f/" + b"a" * 60:
                slow.sendall(bytes([letter]))
                time.sleep(0.1)

        with pytest.raises(ConnectionError):
            dribble()
