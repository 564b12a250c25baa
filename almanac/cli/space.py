"""`space`: how full the bins, the lamps and the room outside will be; nothing is written."""

from __future__ import annotations

import click

from almanac.cli.common import Shell, notices, shared_options, show


@click.command()
@shared_options
def space(shell: Shell) -> None:
    """How full bins, lamps and the room outside will be.

    By week, from where everything stands and when it is forecast to move:
    what is expected, and what suffices nine times in ten. With --json by day.

    Example: stickdate space
    """
    from almanac.actions.look import look
    from almanac.terminal.space import space_json, space_text

    seen = look(shell.folder, shell.now, shell.as_of)
    notices(seen.nursery.notices)
    show(shell, space_text(seen.plan, seen.nursery), space_json(seen.plan, seen.nursery))
