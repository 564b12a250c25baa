"""The command `stickdate`: finds the command asked for and imports only that one's file."""

from __future__ import annotations

import atexit
import gc
import io
import os
import sys
from importlib import import_module
from keyword import iskeyword
from typing import TYPE_CHECKING, Any

import click

from almanac.cli.common import fitting, folders, into_nowhere
from almanac.cli.waiting import waiting

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

COMPLETING = "_STICKDATE_COMPLETE"  # how a shell asks what may stand next

# command -> (file of this folder, what `stickdate --help` says of it); a test holds both against the commands.
COMMANDS = {
    "new": ("new", "Make a nursery folder."),
    "today": ("show", "What to do today, and in the days after."),
    "lots": ("show", "Where every lot is, and what comes next."),
    "why": ("show", "Why an entry says the day it says."),
    "season": ("wood", "When to take wood, sell it dormant, post it and stick it."),
    "wood": ("wood", "What to cut, from which plant and what for; what lies in store."),
    "space": ("space", "How full bins, lamps and the room outside will be."),
    "sheet": ("sheet", "The bench round on paper, with boxes to tick."),
    "tags": ("tags", "Tags for bags, and for plants that leave."),
    "stick-by": ("stick_by", "What to stick when, to have so many plants by a day."),
    "buy": ("space", "What to buy for the lots planned and rooting, and by when."),
    "chart": ("chart", "The season as a picture, one row a lot."),
    "strike": ("strike", "How varieties strike, how long they take, how many to stick."),
    "site": ("site", "What the year brings here: frost, light, holidays."),
    "forsale": ("forsale", "What there is to sell, what is promised, the list for buyers."),
    "order": ("orders", "Take an order, ship it, cancel it, or list what is open."),
    "log": ("record", "Log what you did or saw; says what moves."),
    "undo": ("record", "Undo the last thing logged, or one row."),
    "calendar": ("calendar", "Write the calendar for your phone."),
    "serve": ("serve", "Serve the calendar and the bench page to phones on your network."),
    "publish": ("publish", "Put the calendar where phones away from home can reach it."),
    "keys": ("serve", "The keys in the addresses of the phone's calendar and page."),
    "import": ("importing", "Take in rows that were typed elsewhere, or mend a re-saved file."),
    "check": ("check", "Say what is wrong in the nursery's files."),
    "rules": ("rules", "List, show or check the rules in force."),
    "completion": ("completion", "Let your shell complete commands, lots, bins and entries."),
    "guide": ("guide", "Print a chapter of the guide, or the list of its chapters."),
}


def command_of(name: str) -> click.Command:
    """A command, out of the file that it stands in."""
    module = import_module(f"almanac.cli.{COMMANDS[name][0]}")
    found = getattr(module, f"{name}_" if iskeyword(name) else name.replace("-", "_"))
    assert isinstance(found, click.Command)
    return found


class LazyGroup(click.Group):
    """A group that imports a command's file only when that command runs: `--help` stays quick."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        command = command_of(cmd_name)
        if COMPLETING in os.environ:
            from almanac.cli.completing import names_for, teach

            return teach(command, names_for)
        return command

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[CompletionItem]:
        """The commands and options begun, without importing any command's file."""
        from click.shell_completion import CompletionItem

        found = [CompletionItem(name, help=said) for name, (_, said) in COMMANDS.items() if name.startswith(incomplete)]
        return [*found, *click.Command.shell_complete(self, ctx, incomplete)]

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; that nobody reads its output to the end is no fault of anyone's."""
        try:
            with waiting():
                return super().invoke(ctx)
        except BrokenPipeError:
            into_nowhere(sys.stdout)
            return None

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, short) for name, (_, short) in COMMANDS.items()])

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        try:
            return super().resolve_command(ctx, args)
        except click.UsageError as error:
            from almanac.faults import nearest
            from almanac.words.sentences import near_text

            near = near_text(nearest(args[0], COMMANDS))
            raise click.UsageError(f"'{args[0]}' is not a command{near}", ctx) from error


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80})
@click.version_option(package_name="stickdate", message="%(prog)s %(version)s")
@click.option(
    "--nursery",
    metavar="FOLDER",
    shell_complete=folders,
    help="The nursery's folder. [default: the one you stand in]",
)
@click.option("--as-of", metavar="DATE", help="Stand on another day than today, such as 2026-02-24.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of text.")
@click.pass_context
def cli(ctx: click.Context, nursery: str | None, as_of: str | None, as_json: bool) -> None:
    """The next right day for every lot of cuttings, on your phone.

    Example: stickdate --nursery quince-lane today --days 14
    """
    ctx.obj = {"nursery": nursery, "as_of": as_of, "as_json": as_json}


def main() -> None:
    """Run the command; what stops it goes to stderr, a line each.

    Exit status 1 says that the grower's input is at fault, 3 that the machine is.
    """
    gc.set_threshold(1_000_000, 20, 20)  # a plan has no circles to look for; looking took a fifth of the time
    atexit.register(gc.freeze)  # nor is all looked through once more as the interpreter ends, which took as long
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a sign that a terminal cannot show must not stop a command
    try:
        cli(prog_name="stickdate")
    except Exception as error:
        from almanac.faults import InputFaults, of_machine, troubles

        found = troubles(error)
        if not found:
            raise
        from almanac.words.faults import told_all

        try:
            sys.stdout.flush()
        except OSError:
            into_nowhere(sys.stdout)
        for line in told_all(found):
            told = line if isinstance(error, InputFaults) else f"stickdate: {line}"
            click.echo("\n".join(fitting(told, sys.stderr)), err=True)
        sys.exit(3 if of_machine(error) else 1)


if __name__ == "__main__":
    main()
