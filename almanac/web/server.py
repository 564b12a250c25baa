"""Run the application with waitress, and say by which addresses it can be reached."""

from __future__ import annotations

import logging
import select
import socket
import time
from collections.abc import Callable
from datetime import date, datetime
from ipaddress import ip_address
from pathlib import Path
from typing import Any

from flask import Flask
from waitress.channel import HTTPChannel
from waitress.server import create_server

from almanac.faults import Fact, Refusal
from almanac.plain import dataclass
from almanac.web.keys import Keys, load_keys

LOOPBACK = ("localhost", "127.0.0.1", "::1")
_THREADS = 8
_LARGEST_REQUEST = 128 * 1024
_MOST_CONNECTIONS = 500
_CROWD = 100
_PATIENCE_S, _PATIENCE_IN_CROWD_S, _PATIENCE_WITH_READERS_S = 10, 2, 60


@dataclass(frozen=True)
class Addresses:
    """Where the server can be reached: the names and numbers of this machine, the ones a phone can use first."""

    hosts: tuple[str, ...]
    port: int

    def feed(self, keys: Keys, name: str = "everything", host: str | None = None) -> str:
        return f"http://{self._at(host)}/f/{keys.read}/{name}.ics"

    def page(self, keys: Keys, host: str | None = None) -> str:
        return f"http://{self._at(host)}/k/{keys.write}"

    @property
    def only_here(self) -> bool:
        """Whether none but this machine reaches it."""
        return is_loopback(self.hosts[0])

    @property
    def home(self) -> str:
        """The address of the bench page without a key, for phones that were let in."""
        return f"http://{self._at(None)}/"

    def _at(self, host: str | None) -> str:
        name = host or self.hosts[0]
        return f"[{name}]:{self.port}" if ":" in name else f"{name}:{self.port}"


def is_loopback(host: str) -> bool:
    """Whether a name or number is that of the machine itself."""
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def addresses(host: str, port: int) -> Addresses:
    """The addresses that a server listening on a host has."""
    if host not in ("0.0.0.0", "::"):
        return Addresses((host,), port)
    name = socket.gethostname()
    return Addresses(tuple(dict.fromkeys([*_numbers_of_this_machine(), name, f"{name}.local"])), port)


def trusted(found: Addresses, more: tuple[str, ...] = ()) -> list[str]:
    """The names the server may be asked by.

    Raises:
        Refusal: one of those added is no name of a machine
    """
    for name in more:
        if not _is_name(name):
            raise Refusal(Fact("not_a_host", name=name))
    names = [*filter(_is_name, found.hosts), *LOOPBACK, *more]
    return [f"[{name}]" if ":" in name else name for name in dict.fromkeys(names)]


def _is_name(name: str) -> bool:
    """Whether it can be asked for: by parts of up to 63 letters (RFC 1035, 2.3.4)."""
    try:
        return bool(name.encode("idna"))
    except UnicodeError:
        return False


def _numbers_of_this_machine() -> list[str]:
    """The numbers by which others on the network reach this machine; no packet is sent to find them."""
    found = []
    for family, far in ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1")):  # RFC 5737, RFC 3849
        try:
            with socket.socket(family, socket.SOCK_DGRAM) as probe:
                probe.connect((far, 9))
                found.append(probe.getsockname()[0])
        except OSError:
            continue
    return [number for number in found if not ip_address(number).is_loopback]


class _Channel(HTTPChannel):  # type: ignore[misc]  # it has no types of its own
    """A connection that is cut off if it asks for nothing whole, or reads its answer too slowly.

    Whoever reaches the port can hold connections open, without a key; the fewer are left, the shorter they may.
    """

    since = 0.0

    def readable(self) -> bool:
        waited_s = time.time() - max(self.since, self.creation_time)
        crowded = len(self.server.active_channels) > _CROWD
        most_s = _PATIENCE_WITH_READERS_S if self.total_outbufs_len else _PATIENCE_S
        if not self.requests and waited_s > (_PATIENCE_IN_CROWD_S if crowded else most_s):
            self.will_close = True
        return bool(super().readable())

    def service(self) -> None:
        super().service()
        self.since = time.time()


def listening(app: Flask, host: str, port: int) -> Any:
    """A server of the application that listens; port 0 takes a free one.

    Raises:
        Refusal: it cannot listen there
    """
    try:
        server = create_server(
            app,
            host=host,
            port=port,
            threads=_THREADS,
            max_request_body_size=_LARGEST_REQUEST,
            connection_limit=_MOST_CONNECTIONS,
            asyncore_use_poll=hasattr(select, "poll"),
            ident=None,
        )
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        raise Refusal(Fact("cannot_listen", host=host, port=port, why=why)) from None
    for each in getattr(server, "map", {0: server}).values():  # one for each address that a name stands for
        each.channel_class = _Channel
    return server


def serve(
    folder: Path,
    now: Callable[[], datetime],
    host: str,
    port: int,
    more_hosts: tuple[str, ...],
    ready: Callable[[Addresses, Keys], None],
    as_of: date | None = None,
) -> None:
    """Serve a nursery until stopped.

    Args:
        folder, now, as_of: as for the application
        host, port: where to listen; port 0 takes a free one
        more_hosts: further names it may be asked by
        ready: called with the addresses and the keys once it listens
    Raises:
        Refusal: it cannot listen there
    """
    from almanac.web.app import create_app

    logging.getLogger("waitress").setLevel(logging.ERROR)
    keys = load_keys(folder)
    names = trusted(addresses(host, port), more_hosts)
    app = create_app(folder, now, names, as_of, lambda: addresses(host, server.effective_port).home)
    server = listening(app, host, port)
    try:
        ready(addresses(host, server.effective_port), keys)
        server.run()
    except KeyboardInterrupt:
        pass
    finally:
        server.close()
