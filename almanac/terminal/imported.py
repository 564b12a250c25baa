"""What a file was taken for and what came of it, for the person who imports it, and as JSON. Pure."""

from __future__ import annotations

from typing import Any

from almanac.actions.importing import Imported, Proposal
from almanac.faults import Fact
from almanac.nursery.foreign import COLUMNS
from almanac.terminal.table import paragraph, table
from almanac.words.sentences import listed, one_line, so_many

_SHOWN = 20
_PARTED = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars"}
_READ = {"dmy": "day first", "mdy": "month first", "": ""}
_SMALL = ("id", "logged_at")


def question_text(doubt: Fact) -> str:
    """What is asked where a date may be read both ways."""
    return f"Is {doubt.values['cell']} on line {doubt.values['line']} written day first or month first?"


def proposed_text(proposal: Proposal, file: str) -> str:
    """The file as it was understood, and the rows that would be written."""
    found = proposal.understood
    dates = _READ[found.order]
    if dates:
        dates = f", dates {dates}" + (f" (line {found.decided} tells)" if found.decided else "")
    lines = paragraph(f"{file}: {found.kind}, columns parted by {_PARTED[found.separator]}, {found.encoding}{dates}.")
    if found.left_out:
        lines += paragraph(f"Left out: {listed(found.left_out)}, which {proposal.target} has not.")
    rows = [(f"line {line}", found.named(cells)) for line, cells in proposal.fresh]
    columns = [name for name in COLUMNS[found.kind] if name not in _SMALL and any(row[name] for _, row in rows)]
    shown = [(line, *(one_line(row[name]) for name in columns)) for line, row in rows[:_SHOWN]]
    lines += table(shown, ("", *columns))
    if len(rows) > _SHOWN:
        lines.append(f"and {len(rows) - _SHOWN} more")
    return "\n".join([*lines, *paragraph(_to_do(proposal))]) + "\n"


def _to_do(proposal: Proposal) -> str:
    count = len(proposal.fresh)
    if proposal.own:
        return f"{so_many(count, 'row')} of {proposal.target}, to be written as they should stand."
    known = proposal.known
    there = f"; {so_many(known, 'row')} {'is' if known == 1 else 'are'} there already" if known else ""
    return f"{so_many(count, 'row')} to be written to {proposal.target}{there}."


def imported_text(done: Imported | None, proposal: Proposal) -> str:
    """What was written, or that nothing was and how it would be."""
    if done is None:
        return "Nothing was written; add --yes to write them.\n" if proposal.fresh else "Nothing is left to write.\n"
    lines = [f"Wrote {so_many(len(done.names), 'row')} to {proposal.target}."]
    lines += [f"What was there is kept in {listed(done.kept)}."] if done.kept else []
    if proposal.target != "varieties.csv" and not proposal.own:
        lines.append("See what they say of today: stickdate today")
    if proposal.own:
        lines.append("See whether anything is missing: stickdate check")
    return "\n".join(lines) + "\n"


def imported_json(done: Imported | None, proposal: Proposal) -> dict[str, Any]:
    found = proposal.understood
    return {
        "table": found.kind,
        "separator": found.separator,
        "encoding": found.encoding,
        "dates": _READ[found.order] or None,
        "left_out": found.left_out,
        "there": proposal.known,
        "rows": [
            {"line": line, **{k: v for k, v in found.named(cells).items() if v}} for line, cells in proposal.fresh
        ],
        "written": done.names if done else [],
    }
