"""Run the application with waitress, and say by which addresses it can be reached."""

from __future__ import annotations

import logging
import socket
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from ipaddress import ip_address
from pathlib import Path

from almanac.faults import Fact, Refusal
from almanac.web.keys import Keys, load_keys

LOOPBACK = ("localhost", "127.0.0.1", "::1")
_THREADS = 8
_LARGEST_REQUEST = 128 * 1024


@dataclass(frozen=True)
class Addresses:
    """Where the server can be reached: the names and numbers of this machine, the ones a phone can use first."""

    hosts: tuple[str, ...]
    port: int

    def feed(self, keys: Keys, name: str = "everything", host: str | None = None) -> str:
        return f"http://{self._at(host)}/f/{keys.read}/{name}.ics"

    def page(self, keys: Keys, host: str | None = None) -> str:
        return f"http://{self._at(host)}/k/{keys.write}"

    def _at(self, host: str | None) -> str:
        name = host or self.hosts[0]
        return f"[{name}]:{self.port}" if ":" in name else f"{name}:{self.port}"


def addresses(host: str, port: int) -> Addresses:
    """The addresses that a server listening on a host has."""
    if host not in ("0.0.0.0", "::"):
        return Addresses((host,), port)
    name = socket.gethostname()
    return Addresses(tuple(dict.fromkeys([*_numbers_of_this_machine(), name, f"{name}.local"])), port)


def trusted(found: Addresses, more: tuple[str, ...] = ()) -> list[str]:
    """The names the server may be asked by."""
    names = [*found.hosts, *LOOPBACK, *more]
    return [f"[{name}]" if ":" in name else name for name in dict.fromkeys(names)]


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
    from waitress.server import create_server

    from almanac.web.app import create_app

    logging.getLogger("waitress").setLevel(logging.ERROR)
    keys = load_keys(folder)
    names = trusted(addresses(host, port), more_hosts)
    app = create_app(folder, now, names, as_of)
    try:
        server = create_server(
            app, host=host, port=port, threads=_THREADS, max_request_body_size=_LARGEST_REQUEST, ident=None
        )
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        raise Refusal(Fact("cannot_listen", host=host, port=port, why=why)) from None
    try:
        ready(addresses(host, server.effective_port), keys)
        server.run()
    except KeyboardInterrupt:
        pass
    finally:
        server.close()
