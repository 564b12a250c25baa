"""`rules`: list, show or check the rules in force."""

from __future__ import annotations

from pathlib import Path

import click

from almanac.cli.common import Shell, shared_options, show


@click.group(invoke_without_command=True)
@shared_options
@click.pass_context
def rules(ctx: click.Context, shell: Shell) -> None:
    """List, show or check the rules in force.

    The shipped rules, and the nursery's own (files in its rules/ folder) over
    them. Alone, it lists them.

    Example: stickdate rules show pot_up
    """
    ctx.obj = {"nursery": shell.nursery, "as_of": None, "as_json": shell.as_json}
    if ctx.invoked_subcommand is None:
        from almanac.actions.rules import rulebook
        from almanac.terminal.rules import rules_json, rules_text

        book = rulebook(_own(shell))
        show(shell, rules_text(book), rules_json(book))


@rules.command("show")
@click.argument("name", metavar="ID")
@shared_options
def show_rule(shell: Shell, name: str) -> None:
    """Show one rule: a task, crop, method, care file, caution or source.

    What of it is your own is marked, with what ships instead.

    Example: stickdate rules show fig
    """
    from almanac.actions.rules import rulebook, units_of
    from almanac.rulebook.load import shipped_rules
    from almanac.terminal.rules import rule_data, rule_text

    own, shipped = _own(shell), shipped_rules()
    book = rulebook(own)
    show(shell, rule_text(name, book, units_of(own), shipped), rule_data(name, book, shipped))


@rules.command("check")
@click.argument("file", required=False, type=click.Path(path_type=Path))
@shared_options
def check_rules(shell: Shell, file: Path | None) -> None:
    """Check the rules in force, or one FILE as if it stood in the nursery.

    Says what your own files change of the shipped ones, or what FILE would.
    It must lie in a folder named crops, methods or care, or be named
    sources.toml, cautions.toml, supplies.toml or law.toml.

    Example: stickdate rules check rules/crops/fig.toml
    """
    from almanac.actions.rules import rulebook
    from almanac.terminal.rule_changes import changes_json
    from almanac.words.rules import changed

    book = rulebook(_own(shell), file)
    made = [each for each in book.changes if file is None or each.file == str(file)]
    counts = {
        "crops": len(book.crops),
        "methods": len(book.methods),
        "care": len(book.cares),
        "tasks": len(book.tasks()),
    }
    told = ", ".join(f"{count} {name}" for name, count in counts.items())
    lines = [f"{each.file} {words}." for each, words in changed(made)]
    if file is not None and not lines:
        lines = [f"{file} changes nothing."]
    text = "\n".join([f"{told}. Nothing is wrong.", *lines])
    show(shell, f"{text}\n", {**counts, **changes_json(made)})


@rules.command("diff")
@click.argument("name", required=False, metavar="[ID]")
@shared_options
def diff_rules(shell: Shell, name: str | None) -> None:
    """Show what your own rules say otherwise than the shipped ones.

    With ID only of one crop, method, care file or of sources, cautions,
    supplies, law.

    Example: stickdate rules diff fig
    """
    from almanac.actions.rules import rulebook
    from almanac.terminal.rule_changes import changes_json, changes_text, of_document

    made = of_document(rulebook(_own(shell)), name)
    show(shell, changes_text(made), changes_json(made))


@rules.command("new")
@click.argument("kind", type=click.Choice(["crop", "method", "care"]))
@click.argument("stem", metavar="ID")
@click.option("--like", metavar="ID", help="Start from the values of this one. [default: fig, sealed_bag]")
@shared_options
def new_rules(shell: Shell, kind: str, stem: str, like: str | None) -> None:
    """Write a rule file of your own to start from: of a crop, method or care.

    With the ID of one that ships, all its values stand in it behind a #: take
    it away where yours differ. With a new ID it begins with the values of
    another, each to be gone through. A new method counts once a crop's
    `methods` names it.

    Example: stickdate rules new crop medlar --like fig
    """
    from almanac.actions.rules import new_rule

    path, *schemas = new_rule(shell.folder, kind, stem, like)
    text = f"Wrote {path}. Edit it, then: stickdate rules check {path}\n"
    show(shell, text, {"written": [str(path), *map(str, schemas)]})


@rules.command("schema")
@click.argument("folder", type=click.Path(path_type=Path), default=None, required=False)
@shared_options
def write_schemas(shell: Shell, folder: Path | None) -> None:
    """Write the JSON schemas of all files into FOLDER, for your editor.

    Left out, it is schema/ of the nursery, where the files that `new` and
    `rules new` write look for theirs. An editor that knows JSON schemas for
    TOML then completes keys and marks what is wrong while you write.

    Example: stickdate rules schema
    """
    from almanac.actions.schemas import schemas, write_schemas
    from almanac.rulebook.schema import FOLDER as SCHEMAS

    own = _own(shell)
    found = schemas(own.parent if own else None)
    written = write_schemas(folder if folder is not None else shell.folder / SCHEMAS, found)
    show(shell, f"Wrote {len(written)} schemas into {written[0].parent}.\n", {"written": list(map(str, written))})


def _own(shell: Shell) -> Path | None:
    """The nursery's own rules, where one stands in a nursery."""
    from almanac.faults import Refusal

    try:
        return shell.folder / "rules"
    except Refusal:
        return None
