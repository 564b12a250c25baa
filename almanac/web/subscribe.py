"""The pages that let a phone subscribe to the calendar, and pair another: codes to scan, a link to tap, an address."""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import urlsplit

import segno
from flask import Response, abort, request
from markupsafe import Markup

from almanac.actions.look import NAMES
from almanac.nursery.nursery import Nursery
from almanac.plain import dataclass
from almanac.web.keys import load_keys
from almanac.web.page import Page
from almanac.web.server import is_loopback
from almanac.words.subscribing import FEEDS, KINDS, link_of


@dataclass(frozen=True)
class Base:
    """Where phones ask: the address without a path; `only_here` says that none but this machine reaches it."""

    address: str
    only_here: bool


class Subscribe:
    """The two pages; `page` shows them, `home` is where the server is reached, once that is known."""

    def __init__(self, page: Page, home: Callable[[], str]) -> None:
        self._page, self._home = page, home

    def calendar(self, name: str = "everything") -> Response:
        """One calendar to subscribe to, and the others beside it."""
        if name not in NAMES:
            abort(404)
        nursery = self._page.loaded()
        base, keys = self._base(nursery), load_keys(self._page.folder)
        address = f"{base.address}/f/{keys.read}/{name}.ics"
        link = link_of(address)
        code = "" if base.only_here else code_of(link, "The calendar's address as a code to scan")
        return self._page.plain(
            "calendar.html", nursery, name=name, feeds=FEEDS, kinds=KINDS, address=address, link=link, code=code
        )

    def pair(self) -> Response:
        """The code that lets another phone log: shown to one that may already."""
        nursery = self._page.loaded()
        base, keys = self._base(nursery), load_keys(self._page.folder)
        address = f"{base.address}/k/{keys.write}"
        code = "" if base.only_here else code_of(address, "The address that pairs a phone, as a code")
        return self._page.plain("pair.html", nursery, code=code)

    def _base(self, nursery: Nursery) -> Base:
        return base_for(request.host_url, self._home(), nursery.settings.calendar.page)


def base_for(asked: str, home: str, own: str) -> Base:
    """The address phones are told.

    Args:
        asked: the one by which whoever asks reached the page, so it can be reached
        home: the one the server knows of itself
        own: the one the grower set for good, empty if none
    """
    for address in (own, asked, home):
        if address and not only_here(address):
            return Base(address.rstrip("/"), only_here=False)
    return Base((own or asked).rstrip("/"), only_here=True)


def only_here(address: str) -> bool:
    """Whether an address is that of the machine itself."""
    return is_loopback(urlsplit(address).hostname or "")


def code_of(address: str, title: str) -> Markup:
    """An address as a picture to scan, dark on light in any light, with the quiet margin that readers ask for."""
    drawn = segno.make(address, micro=False).svg_inline(
        border=4, omitsize=True, light="#fff", svgclass="code", title=title
    )
    return Markup(drawn)  # drawn by the library: of ours it holds the title alone
