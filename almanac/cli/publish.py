"""`publish`: the feeds for phones away from home, in a folder or on the grower's calendar server."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from almanac.cli.common import Shell, notices, shared_options, show
from almanac.cli.waiting import enough
from almanac.plain import dataclass

if TYPE_CHECKING:
    from almanac.faults import Fact, Fault


@dataclass(frozen=True, kw_only=True)
class Report:
    """What one run has to say: the text, the same in a line for one who watches, as an object, and what is at fault."""

    text: str
    line: str
    data: Mapping[str, Any]
    faults: tuple[str, ...]
    notices: tuple[Fact, ...] = ()


@click.command()
@click.argument("target")
@click.option("--base-url", "base", default="", metavar="URL", help="The folder's web address, to print whole ones.")
@click.option("--for-sale", "with_list", is_flag=True, help="The list for buyers, too.")
@click.option("--watch", "watching", is_flag=True, help="Go on, and publish after each change, until Ctrl-C.")
@click.option("--every", default=5.0, type=click.FloatRange(0.1, 3600), metavar="SECONDS", help="How often to look.")
@click.option("--password-file", "secret", type=click.Path(path_type=Path, exists=True, dir_okay=False), metavar="FILE",
              help="The calendar server's password, in its first line.")  # fmt: skip
@click.option("--insecure", is_flag=True, help="Let plain http go to another machine.")
@shared_options
def publish(
    shell: Shell,
    target: str,
    base: str,
    with_list: bool,
    watching: bool,
    every: float,
    secret: Path | None,
    insecure: bool,
) -> None:
    """Put the calendar where phones away from home can reach it.

    TARGET is a folder that a web host, a synced drive or a file server shows:
    the four feeds go there under names that nobody can guess. Or it is a
    calendar on your own server, caldav+https://user@host/path/, which is kept
    in step: only what changed is written, and what is not ours is left alone.
    Its password comes from --password-file or STICKDATE_CALDAV_PASSWORD.

    Example: stickdate publish /srv/www/cal --base-url https://example.org/cal
    """
    once = _to_calendar(shell, target, secret, insecure, base, with_list) if "://" in target else None
    run = once or _to_folder(shell, Path(target), base, with_list)
    if watching:
        _watch(shell, run, every)
        return
    said = run(shell.now)
    show(shell, said.text, dict(said.data))
    _complain(said)
    if said.faults:
        sys.exit(1)


def _to_folder(shell: Shell, target: Path, base: str, with_list: bool) -> Callable[[datetime], Report]:
    """How to publish into a folder."""
    from almanac.actions.publish import check_folder, publish_folder
    from almanac.cli.codes import code_of
    from almanac.faults import Fact, Refusal
    from almanac.terminal.published import again_text, first_address, folder_text
    from almanac.web.keys import load_keys
    from almanac.words.faults import told_all
    from almanac.words.subscribing import link_of

    if base and not base.lower().startswith(("http://", "https://")):
        raise Refusal(Fact("base_not_whole", base=base))
    check_folder(shell.folder, target)

    def run(now: datetime) -> Report:
        check_folder(shell.folder, target)
        keys = load_keys(shell.folder)
        done = publish_folder(shell.folder, target, keys.published, keys.before, now, shell.as_of, with_list=with_list)
        faults = tuple(told_all(done.faults))
        address = first_address(done.names, base)
        code = code_of(link_of(address)) if address else ""
        data = {
            "target": str(target),
            "files": done.names,
            "written": done.written,
            "removed": done.removed,
            "faults": faults,
        }
        return Report(
            text=folder_text(done, str(target), base, code),
            line=again_text(done),
            data=data,
            faults=faults,
            notices=(Fact("old_list"),) if done.old_list else (),
        )

    return run


def _to_calendar(
    shell: Shell, target: str, secret: Path | None, insecure: bool, base: str, with_list: bool
) -> Callable[[datetime], Report]:
    """How to keep a calendar in step."""
    from almanac.actions.caldav import address, keep_in_step, read_password
    from almanac.faults import Fact, Refusal
    from almanac.terminal.published import calendar_text
    from almanac.words.faults import told_all

    calendar = address(target, insecure=insecure)
    if with_list or base:
        raise Refusal(Fact("folder_options"))
    password = read_password(secret, os.environ)

    def run(now: datetime) -> Report:
        done = keep_in_step(shell.folder, calendar, password, now, shell.as_of)
        faults = tuple(told_all(done.faults))
        text = calendar_text(done, calendar.url)
        data = {
            "target": calendar.url,
            "new": done.new,
            "changed": done.changed,
            "deleted": done.deleted,
            "same": done.same,
            "away": done.away,
            "left": done.left,
            "faults": faults,
        }
        return Report(text=text, line=" ".join(text.split("\n")).strip(), data=data, faults=faults)

    return run


def _watch(shell: Shell, run: Callable[[datetime], Report], every: float) -> None:
    from time import sleep

    from almanac.actions.watch import watch
    from almanac.words.faults import told_all

    first = True

    def once() -> None:
        nonlocal first
        said = run(datetime.now(UTC))
        enough()
        clock = f"{datetime.now():%H:%M}"
        click.echo(said.text if first else f"{clock} {said.line}")
        _complain(said)
        first = False

    def complain(troubles: tuple[Fault | Fact, ...]) -> None:
        enough()
        click.echo(f"{datetime.now():%H:%M} {' '.join(told_all(troubles))}", err=True)

    watch(shell.folder, once, complain, lambda: datetime.now(UTC), sleep, every)


def _complain(said: Report) -> None:
    for fault in said.faults:
        click.echo(fault, err=True)
    if said.faults:
        click.echo(
            "stickdate: until that is mended, the last good calendar stands, with an entry that says so", err=True
        )
    notices(said.notices)
