"""How a calendar is subscribed to on each kind of phone and program, as the page says it. Pure.

From users' reports, makers' help pages and readings of the programs, of 2026 at the latest.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from almanac.plain import dataclass


@dataclass(frozen=True, kw_only=True)
class Kind:
    """One kind of calendar: what to do there; `home` says whether it reaches an address within the house."""

    title: str
    how: str
    home: bool = True


_AWAY: Final = (
    "It is fetched by its maker's computers, which do not reach into your home: publish the calendar, and give it the "
    "address that is shown then. A moved entry can take a day or more to show."
)
KINDS: Final = (
    Kind(
        title="iPhone, iPad",
        how="Scan the code with the camera, or tap Subscribe. It warns of an address without https: at home that is "
        "fine. Keep it on the device, not in the cloud, which does not reach your home. Leave “Remove alarms” off if "
        "you want any.",
    ),
    Kind(title="Mac", how="Click Subscribe, then choose how often it looks for news: every hour will do."),
    Kind(
        title="Android",
        how="Its own calendar cannot subscribe to a home address. An app that subscribes can (ICSx5 is one): with it "
        "there, scan the code or tap Subscribe. Set it to look every hour.",
    ),
    Kind(title="Google Calendar", how=_AWAY, home=False),
    Kind(title="Outlook on the web", how=_AWAY, home=False),
    Kind(
        title="Outlook on a computer",
        how="Add a calendar from the internet, and paste the address. It looks each hour.",
    ),
    Kind(title="Thunderbird", how="New calendar, on the network; paste the address; no user name."),
    Kind(title="GNOME, KDE", how="Add a calendar by its address, and paste it."),
)
# What stands in each feed, by its name.
FEEDS: Final[Mapping[str, tuple[str, str]]] = {
    "everything": ("Everything", "rounds, jobs, windows, forecasts, sales: one calendar for all"),
    "bench": ("Bench", "rounds and jobs alone"),
    "seasons": ("Seasons", "windows, forecasts, frost and light"),
    "sales": ("Sales", "what to offer, send and decide"),
}


def link_of(address: str) -> str:
    """What a phone takes for a calendar to subscribe to: `webcal:` for plain http (its scheme at IANA).

    Behind https the address stays as it is: some programs make plain http of `webcal:`, which shows its key on the way.
    """
    scheme, there, rest = address.partition("://")
    return f"webcal://{rest}" if there and scheme == "http" else address
