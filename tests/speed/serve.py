"""How quick the server is: `python -m tests.speed.serve [SECONDS]`.

A feed not changed since (304) is held against the same server framework answering a constant, both asked in turn by
the same client, each in a process of its own; wanted: at least 60 % of its rate. Each request has a connection of its
own, as calendars ask: waitress ends the connection after a 304, so a constant asked over one would win by that alone.
And what one change of the logbook costs, the feed of thirty lots worked out anew: wanted under 150 ms of CPU; the floor
is the reading of the same feed by the library that wrote it. For information: nothing fails here.
"""

from __future__ import annotations

import shutil
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from http.client import HTTPConnection
from pathlib import Path
from statistics import median
from time import perf_counter, process_time

from icalendar import Calendar

from almanac.web.feeds import Feeds

EXAMPLE = Path(__file__).parents[2] / "examples" / "osier-row"
NOON = datetime(2026, 2, 10, 17, tzinfo=UTC)
ROUNDS = 5
CONSTANT = """\
import sys
from flask import Flask
from waitress.server import create_server
app = Flask("constant")
app.get("/constant")(lambda: "so")
server = create_server(app, host="127.0.0.1", port=0, threads=8, ident=None)
print(server.effective_port, flush=True)
server.run()
"""
OURS = """\
import sys
from datetime import UTC, datetime
from pathlib import Path
from almanac.web.server import serve
noon = datetime.fromisoformat(sys.argv[2])
def ready(found, keys):
    print(found.port, keys.read, flush=True)
serve(Path(sys.argv[1]), lambda: noon, "127.0.0.1", 0, (), ready)
"""


@contextmanager
def running(program: str, *arguments: str) -> Iterator[list[str]]:
    """A server in a process of its own; gives the words it says once it listens."""
    server = subprocess.Popen([sys.executable, "-c", program, *arguments], stdout=subprocess.PIPE, text=True)
    try:
        assert server.stdout is not None
        yield server.stdout.readline().split()
    finally:
        server.terminate()
        server.wait()


def rate(port: int, path: str, headers: Mapping[str, str], status: int, seconds: float) -> float:
    """Answers a second to one who asks as a calendar does: each time over a connection of its own."""
    host = f"Host: 127.0.0.1:{port}"  # a feed leads to the page by the name it is asked by, so its tag hangs on it
    lines = [f"GET {path} HTTP/1.1", host, "Connection: close", *(f"{k}: {v}" for k, v in headers.items())]
    asked, wanted = "\r\n".join([*lines, "", ""]).encode(), f"HTTP/1.1 {status} ".encode()
    count, start = 0, perf_counter()
    while perf_counter() - start < seconds:
        with socket.create_connection(("127.0.0.1", port)) as connection:
            connection.sendall(asked)
            answer = connection.recv(65536)
            while connection.recv(65536):
                pass
        assert answer.startswith(wanted), answer[:80]
        count += 1
    return count / (perf_counter() - start)


def tag_of(port: int, path: str) -> str:
    connection = HTTPConnection("127.0.0.1", port)
    connection.request("GET", path)
    answer = connection.getresponse()
    answer.read()
    connection.close()
    return answer.headers["ETag"]


def unchanged(nursery: Path, seconds: float) -> None:
    """Print the rate of 304 beside that of a constant."""
    with running(OURS, str(nursery), NOON.isoformat()) as ours, running(CONSTANT) as floor:
        port, path = int(ours[0]), f"/f/{ours[1]}/everything.ics"
        head = {"If-None-Match": tag_of(port, path)}
        found, constant = [], []
        for _ in range(ROUNDS):
            constant.append(rate(int(floor[0]), "/constant", {}, 200, seconds))
            found.append(rate(port, path, head, 304, seconds))
    low, high = median(found), median(constant)
    print(f"304: {low:.0f}/s, a constant {high:.0f}/s, ratio {low / high:.2f} (wanted: 0.6 or more)")


def changed(nursery: Path, runs: int) -> None:
    """Print what it costs to work the feeds out after one more row."""
    feeds = Feeds(nursery, lambda: NOON)
    body = feeds.get("everything").body
    log = nursery / "logbook.csv"
    lots = len({row.split(",")[3] for row in log.read_text("utf-8").splitlines()[1:]} - {""})
    found, floors = [], []
    for number in range(runs):
        with log.open("a", encoding="utf-8") as stream:
            stream.write(f"speed{number},2026-02-10,noted,,,,,A,,,row {number},\n")
        start = process_time()
        body = feeds.get("everything").body
        found.append(process_time() - start)
        start = process_time()
        Calendar.from_ical(body)
        floors.append(process_time() - start)
    low, high = median(floors) * 1000, median(found) * 1000
    entries = body.count(b"BEGIN:VEVENT")
    print(f"after one more row, {lots} lots, {entries} entries: {high:.0f} ms of CPU (wanted: under 150),", end=" ")
    print(f"floor {low:.0f} ms, ratio {high / low:.1f}")


def main(seconds: float) -> None:
    """Measure both."""
    with tempfile.TemporaryDirectory() as folder:
        nursery = Path(folder) / "nursery"
        shutil.copytree(EXAMPLE, nursery, ignore=shutil.ignore_patterns("calendar", "*.backup.csv", "phone-keys.toml"))
        changed(nursery, 9)
        unchanged(nursery, seconds)


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 2)
