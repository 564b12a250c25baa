"""`guide`: print the grower's guide."""

from __future__ import annotations

import sys

import click

from almanac.cli.common import Shell, shared_options, show
from almanac.cli.waiting import enough


@click.command()
@click.argument("name", metavar="CHAPTER", required=False)
@shared_options
def guide(shell: Shell, name: str | None) -> None:
    """Print a chapter of the guide, or the list of its chapters.

    Example: stickdate guide frost
    """
    from almanac.actions.guide import chapter, chapters
    from almanac.terminal.guide import chapters_json, chapters_text

    if name is None:
        every = chapters()
        show(shell, chapters_text(every), chapters_json(every))
        return
    one = chapter(name)
    if sys.stdout.isatty() and not shell.as_json:
        enough()
        click.echo_via_pager(one.text)
    else:
        show(shell, one.text, {"chapter": one.name, "question": one.question, "text": one.text})
