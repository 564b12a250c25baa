"""`today`, `lots`, `why`: read the nursery and show; nothing is written."""

from __future__ import annotations

from pathlib import Path

import click

from almanac.cli.common import Shell, planned, shared_options, show, weigh


@click.command()
@click.option("--days", type=click.IntRange(1, 366), default=1, show_default=True, help="How many days ahead.")
@click.option("--all", "whole", is_flag=True, help="Every window that is open, not only those that close soonest.")
@click.option("--ids", is_flag=True, help="Name each entry as `why` takes it.")
@shared_options
def today(shell: Shell, days: int, whole: bool, ids: bool) -> None:
    """What to do today, and in the days after.

    What matters most first, then rounds with bins and lots, then windows that are open, then what is overdue.

    Example: stickdate today --days 7
    """
    from almanac.actions.first_steps import next_step
    from almanac.faults import InputFaults
    from almanac.terminal.first_steps import with_next
    from almanac.terminal.today import today_json, today_text

    try:
        seen = planned(shell)
    except InputFaults:
        _show_last_plan(shell, days)
        raise
    text = today_text(seen.plan, seen.nursery, days, whole=whole, ids=ids, weigh=weigh())
    show(shell, *with_next(text, today_json(seen.plan, days), next_step(seen.nursery)))


def _show_last_plan(shell: Shell, days: int) -> None:
    """What was planned last, where the nursery's own rules alone keep a newer plan from being made."""
    from almanac.actions.last_plan import last_plan
    from almanac.terminal.last_plan import last_plan_json, last_plan_text

    last = last_plan(shell.folder, shell.now, shell.as_of)
    if last is not None:
        show(shell, last_plan_text(last, days), last_plan_json(last, days))


@click.command()
@click.argument("lot", required=False)
@click.option("--closed", is_flag=True, help="Also those with no cuttings left.")
@click.option("--picture", type=click.Path(path_type=Path), metavar="FILE", help="Draw its year: .svg, .pdf or .png.")
@shared_options
def lots(shell: Shell, lot: str | None, closed: bool, picture: Path | None) -> None:
    """Where every lot is, and what comes next; or all of one LOT.

    With --picture the year of that LOT is drawn: each sign as it came, against
    the rule's days and your own.

    Example: stickdate lots 7a
    """
    from almanac.actions.draw import write_picture
    from almanac.actions.first_steps import next_step
    from almanac.faults import Fact, InputFaults, Refusal, nearest
    from almanac.pictures.lot_year import lot_picture
    from almanac.terminal.first_steps import with_next
    from almanac.terminal.lots import all_lots_json, lot_text, lots_json, lots_text

    if picture is not None and lot is None:
        raise click.UsageError("--picture draws the year of one lot; name it, as: lots 7a --picture FILE")
    try:
        seen = planned(shell)
    except InputFaults:
        if picture is None:
            _show_last_lots(shell, lot, closed=closed)
        raise
    every = seen.nursery.stock.lots
    if lot is None:
        text = lots_text(seen.plan, seen.nursery, closed=closed)
        told = all_lots_json(seen.plan, seen.nursery, closed=closed)
        show(shell, *with_next(text, told, next_step(seen.nursery)))
    elif lot.lower() in every:
        one, drawn = every[lot.lower()], ""
        if picture is not None:
            write_picture(picture, seen.plan.as_of, "7a.png", lambda: lot_picture(one, seen.plan, seen.nursery))
            drawn = f"\nDrew {picture}.\n"
        show(shell, lot_text(one, seen.plan, seen.nursery) + drawn, lots_json([one], seen.plan))
    else:
        raise Refusal(Fact("lot_unknown", name=lot, near=nearest(lot, every)))


def _show_last_lots(shell: Shell, lot: str | None, *, closed: bool) -> None:
    """Where lots are and what was last written of them, likewise."""
    from almanac.actions.last_plan import last_plan
    from almanac.terminal.last_plan import last_lots_json, last_lots_text

    last, only = last_plan(shell.folder, shell.now, shell.as_of), (lot or "").lower()
    if last is not None and (not only or only in last.nursery.stock.lots):
        text = last_lots_text(last, closed=closed, only=only)
        show(shell, text, last_lots_json(last, closed=closed, only=only))


@click.command()
@click.argument("name", metavar="ID")
@shared_options
def why(shell: Shell, name: str) -> None:
    """Why an entry says the day it says.

    ID is the name of a task (7a.pot_up), a round (round.2026-02-27) or a
    milestone (7a.roots), as `today --ids` and the entries themselves show it.
    A lot alone (7a) lists what can be asked of it.

    Example: stickdate why 7a.pot_up
    """
    from almanac.faults import InputFaults
    from almanac.terminal.why import askable_json, askable_text, why_json, why_text
    from almanac.words.why import askable, find

    try:
        seen = planned(shell)
    except InputFaults:
        _show_last_why(shell, name)
        raise
    if name.lower() in seen.nursery.stock.lots:
        asked = askable(name.lower(), seen.plan)
        show(shell, askable_text(name.lower(), asked, seen.nursery), askable_json(name.lower(), asked))
        return
    answer = find(name, seen.plan)
    show(shell, why_text(answer, seen.plan, seen.nursery), why_json(answer, seen.plan, seen.nursery))


def _show_last_why(shell: Shell, name: str) -> None:
    """The entry as it was last written, likewise."""
    from almanac.actions.last_plan import last_plan
    from almanac.terminal.last_plan import last_lots_json, last_lots_text, last_why_json, last_why_text

    last = last_plan(shell.folder, shell.now, shell.as_of)
    if last is None:
        return
    if name.lower() in last.nursery.stock.lots:
        show(shell, last_lots_text(last, only=name.lower()), last_lots_json(last, only=name.lower()))
    else:
        show(shell, last_why_text(last, name), last_why_json(last, name))
