"""What a run of `publish` left, and the addresses to subscribe to. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from almanac.terminal.table import paragraph

_NO_LISTING = "See that the host does not list the folder's files: whoever knows a name can read it."


def folder_text(
    names: Mapping[str, str],
    written: Sequence[str],
    removed: Sequence[str],
    target: str,
    base: str,
    code: str = "",
) -> str:
    """What was written into a folder, and where it can be had.

    Args:
        names: of the files, as published, by what they are
        written: those that changed
        removed: those under earlier names
        target: the folder
        base: the web address of the folder, empty if it was not said
        code: the first feed's address as a code to scan
    """
    feeds = [name for file, name in names.items() if file.endswith(".ics")]
    lists = [name for file, name in names.items() if not file.endswith(".ics")]
    lines = [f"Published into {target}: {_counted(len(written), len(names))}{_gone(removed)}.", ""]
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


def again_text(written: Sequence[str], removed: Sequence[str], of: int) -> str:
    """The same in a line, for one who watches."""
    return f"published: {_counted(len(written), of)}{_gone(removed)}"


def calendar_text(new: int, changed: int, deleted: int, same: int, away: int, left: Sequence[str], where: str) -> str:
    """What was done to a calendar on a server."""
    text = f"{where}: {new} new, {changed} changed, {deleted} deleted, {same} as they were.\n"
    if away:
        text += f"Deleted there by hand, away until their date or text changes: {away}\n"
    if left:
        rest = f" and {len(left) - 5} more" if len(left) > 5 else ""
        text += f"Left alone, as another program changed them there: {', '.join(left[:5])}{rest}\n"
    return text


def _counted(written: int, of: int) -> str:
    if written == 0:
        return "nothing changed"
    return f"{written} of {of} files written" if written < of else f"{of} files written"


def _gone(removed: Sequence[str]) -> str:
    return f", {len(removed)} under old names removed" if removed else ""
