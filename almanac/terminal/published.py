"""What a run of `publish` left, and the addresses to subscribe to. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from almanac.terminal.table import paragraph

if TYPE_CHECKING:
    from almanac.actions.caldav import Synced
    from almanac.actions.publish import Folder

_NO_LISTING = "See that the host does not list the folder's files: whoever knows a name can read it."


def folder_text(done: Folder, target: str, base: str, code: str) -> str:
    """What was written into a folder, and where it can be had.

    Args:
        done: the files, and those that changed or went
        target: the folder
        base: the web address of the folder, empty if it was not said
        code: the first feed's address as a code to scan, empty for none
    """
    feeds = [name for file, name in done.names.items() if file.endswith(".ics")]
    lists = [name for file, name in done.names.items() if not file.endswith(".ics")]
    lines = [f"Published into {target}: {_counted(done)}.", ""]
    at = f"{base.rstrip('/')}/" if base else ""
    where = (
        "Subscribe your calendar to:" if base else "Subscribe your calendar to the folder's web address, and after it:"
    )
    lines += [where, f"  {at}{feeds[0]}", "or, if you want them apart:", *(f"  {at}{name}" for name in feeds[1:])]
    if lists:
        lines += ["The list for buyers, to give to them:", *(f"  {at}{name}" for name in lists)]
    lines += ["", "Or scan its address:", code] if code else []
    lines += ["", *paragraph(_NO_LISTING)]
    return "\n".join(lines) + "\n"


def first_address(names: Mapping[str, str], base: str) -> str:
    """The whole address of the first feed; empty where the folder's web address was not said."""
    return f"{base.rstrip('/')}/{next(iter(names.values()))}" if base else ""


def again_text(done: Folder) -> str:
    """The same in a line, for one who watches."""
    return f"published: {_counted(done)}"


def calendar_text(done: Synced, where: str) -> str:
    """What was done to a calendar on a server."""
    text = f"{where}: {done.new} new, {done.changed} changed, {done.deleted} deleted, {done.same} as they were.\n"
    if done.away:
        text += f"Deleted there by hand, away until their date or text changes: {done.away}\n"
    if done.left:
        rest = f" and {len(done.left) - 5} more" if len(done.left) > 5 else ""
        text += f"Left alone, as another program changed them there: {', '.join(done.left[:5])}{rest}\n"
    return text


def _counted(done: Folder) -> str:
    written, of = len(done.written), len(done.names)
    told = f"{written} of {of} files written" if written < of else f"{of} files written"
    gone = f", {len(done.removed)} under old names removed" if done.removed else ""
    return (told if written else "nothing changed") + gone
