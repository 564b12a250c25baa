"""What a rule says, in words: when a task is due, what it is called in a list, what a file changes. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import PurePath

from almanac.alike import together
from almanac.rulebook.book import VALUE
from almanac.rulebook.changes import Change
from almanac.rulebook.models import TaskRule
from almanac.words.sentences import listed, so_many


def listed_title(rule: TaskRule) -> str:
    """A task's title where no lot or day is at hand to fill it."""
    return rule.listed or VALUE.sub("…", rule.title)


def when_due(rule: TaskRule) -> str:
    """When a task is asked for, from its days."""
    after = rule.after.replace("_", " ")
    if rule.worked:
        return f"{rule.kind}, counted from {after}; its days are worked out"
    on_the_day = f"the day of {after}"
    if rule.overdue:
        after = on_the_day = f"the day by which 95 lots in 100 show {after}"

    def day(number: int) -> str:
        return f"{_count(abs(number))} {'after' if number > 0 else 'before'} {after}" if number else on_the_day

    if rule.repeats:
        told = f"{rule.kind} from {day(rule.first_day or 0)} on, every {_count(rule.every_days or 1)}"
        told += f", at the latest {_count(rule.longest_days)} after the last" if rule.longest_days else ""
        told += f", up to {_count(rule.slack_days)} late" if rule.slack_days else ""
        told += f"; ends {day(rule.last_day)}" if rule.last_day is not None else ""
    else:
        opens, due, closes = (day or 0 for day in (rule.opens_day, rule.due_day, rule.closes_day))
        told = f"{rule.kind}, opens {day(opens)}, best {day(due)}, closes {day(closes)}"
        told += f"; asked again every {_count(rule.again_days)}" if rule.again_days else ""
    return told + ("; waits until it is logged" if rule.once_logged else "")


def _count(days: int) -> str:
    return f"{days} days" if days != 1 else "a day"


_COUNTED = ("durations", "task", "milestone", "source", "caution", "supply", "law")  # tables whose entries are counted


def as_written(value: object) -> str:
    """A value as a rule file has it."""
    if isinstance(value, list):
        return f"[{', '.join(map(as_written, value))}]"
    if isinstance(value, Mapping):
        return f"{{ {', '.join(f'{key} = {as_written(item)}' for key, item in value.items())} }}"
    return str(value).lower() if isinstance(value, bool) else f'"{value}"' if isinstance(value, str) else str(value)


def changed(changes: Iterable[Change]) -> list[tuple[Change, str]]:
    """What files change, for each the first of its changes and `changes 3 durations and 2 tasks of fig`.

    What only says where a value comes from does not count.
    """
    lines = []
    for (_, document), found in together(changes, lambda each: (each.file, each.document)).items():
        name = PurePath(document).name
        if any(not each.key for each in found):
            lines.append((found[0], f"adds {name}"))
            continue
        parts: dict[tuple[str, ...], None] = {}
        for each in found:
            if not each.cites:
                parts[each.key[:2] if each.key[0] in _COUNTED else each.key] = None
        tables = dict.fromkeys(key[0] for key in parts)
        counted = [_part(table, [key for key in parts if key[0] == table]) for table in tables]
        if counted:
            lines.append((found[0], f"changes {listed(counted)} of {name}"))
    return lines


def _part(table: str, keys: list[tuple[str, ...]]) -> str:
    if table in _COUNTED:
        return so_many(len(keys), "duration" if table == "durations" else table)
    return table if all(len(key) == 1 for key in keys) else f"{so_many(len(keys), 'value')} in {table}"
