"""What a locked phone and a month's page show of an entry: its title in so many letters, what matters first. Pure.

A task begins with its lots and not with what to do: on a month's page the same job stands on many days, and lots tell
them apart. A round begins with what presses most, as its lots are those of the bench.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from almanac.plan.model import Line, Round, Task
from almanac.words.derivation import rule_of, rule_of_line
from almanac.words.lots import places_named
from almanac.words.sentences import capital, small, so_many, with_sign
from almanac.words.tasks import LOCK_SCREEN, about, counted, minutes, named_part, of_no_lots, pressing, ready, stage_of

MONTH: Final = 22  # letters that a month's page shows
_SPREADS: Final = ("rot", "mould")  # troubles that take the neighbours, too, before those that wait a day
_LOTS: Final = 12  # letters for lots, so that a month's page has some left for what to do


def cut(text: str, most: int = LOCK_SCREEN) -> str:
    """A text in so many letters, with a sign where it was cut."""
    return text if len(text) <= most else f"{text[: most - 1].rstrip(' ,:')}…"


def task_summary(task: Task, varieties: Mapping[str, str]) -> str:
    """Lots, then what to do, then how many and of which variety where there is room: `7a: pot up, 9 cuttings`.

    Args:
        task: one with an entry of its own
        varieties: by lot, and by number for lots to come, the variety's name
    """
    rule = rule_of(task)
    what, whom = rule.short or rule.title, _whom(task)
    if task.counted_from == "planned":
        what = f"stick {counted(task.count, 'store')}"
    if not whom:
        return cut(rule.title)
    ways = [f"{each}: {small(what)}" for each in whom]
    first = next((way for way in ways if len(way) <= LOCK_SCREEN), cut(ways[-1]))
    lots = [task.own[0].lots[0]] if task.counted_from == "planned" else task.lots
    names = {varieties.get(lot, "") for lot in lots}
    name = next(iter(names)) if len(names) == 1 else ""
    told = [_how_many(task), name]
    more = (
        f"{with_sign(first, ',')} {', '.join(said)}"
        for each in (told, told[:1], told[1:])
        if (said := [*filter(None, each)])
    )
    return next((each for each in more if len(each) <= LOCK_SCREEN), first)


def _whom(task: Task) -> list[str]:
    """Lots, a bin, a crop, a number, in fewer and fewer letters; none where the title says of what."""
    if task.counted_from == "planned":
        return [f"No. {task.lots[0]}"]
    if (whole := of_no_lots(task)) is not None:
        return [capital(whole)] if whole else []
    fewer = [lots_in(task.lots, room) for room in (_LOTS, _LOTS * 2 // 3, _LOTS // 2)]
    if task.to_come:
        return [f"{fewer[0]} (planned)", *fewer]
    return [named_part(fewer[0], task.part), *fewer] if len(task.lots) == 1 else fewer


def _how_many(task: Task) -> str:
    """`9 cuttings`, `6 of 9 cuttings` where only so many are ready; nothing where several lots share it."""
    if task.rule.kind != "window" or len(task.lots) != 1 or task.counted_from == "planned":
        return ""
    known = task.count and stage_of(task)
    return counted(task.count, stage_of(task), ready(task)) if known else ""


def lots_in(lots: Sequence[str], room: int = _LOTS) -> str:
    """As many lots as there is room for, and how many more: `1b, 2b +3`; always one."""
    whole = ", ".join(lots)
    if len(whole) <= room:
        return whole
    for number in range(len(lots) - 1, 1, -1):
        text = f"{', '.join(lots[:number])} +{len(lots) - number}"
        if len(text) <= room:
            return text
    return f"{lots[0]} +{len(lots) - 1}" if len(lots) > 1 else whole


def round_title(each: Round) -> str:
    """`Take out rot 17a, loosen 5a +3 jobs, 40 min`: what presses most comes first.

    A round of looks alone names its lots, or counts them by bins. One on a day away says first that someone must be
    asked. How long it takes gives way to a trouble, to nothing else.
    """
    head, tail = "Ask someone: " if each.away else "", f", {minutes(each)} min"
    jobs = jobs_of(each)
    if not jobs:
        head = head or "Bench: "
        return f"{head}{_where(each, LOCK_SCREEN - len(head) - len(tail))}{tail}"
    troubles = len({_in_few_words(line) for line in each.lines if line.task is not None and pressing(line.rule)})
    (timed, with_minutes), (untimed, without) = (_as_many_jobs(each, jobs, head, end) for end in (tail, ""))
    if timed and min(timed, troubles) >= min(untimed, troubles):
        return with_minutes
    if untimed:
        return without
    alone = f"{head}{small(jobs[0][0]) if head else jobs[0][0]}"
    return alone if len(alone) <= LOCK_SCREEN else f"{head}{len(jobs)} jobs"


def _as_many_jobs(each: Round, jobs: Sequence[tuple[str, list[str]]], head: str, tail: str) -> tuple[int, str]:
    """As many jobs with their lots as there is room for, how many those are; 0 where not even the first has room."""
    said: list[str] = []
    told = ""
    for what, lots in jobs:
        name = small(what) if said or head else what
        rooms = [f"{name} {lots_in(lots, room)}" for room in (_LOTS, _LOTS // 2)] if lots else [name]
        ways = rooms if said else [*rooms, name]
        fits = (
            (way, text)
            for way in ways
            if len(text := f"{head}{', '.join([*said, way])}{_others(each, len(jobs) - len(said) - 1)}{tail}")
            <= LOCK_SCREEN
        )
        way, told_now = next(fits, ("", ""))
        if not way:
            break
        said.append(way)
        told = told_now
    return len(said), told


def jobs_of(each: Round) -> list[tuple[str, list[str]]]:
    """What is more than a look and whom it is for: troubles and treatments first, then what is late."""
    found: dict[str, dict[str, None]] = {}
    lines = [line for line in each.lines if line.task is not None]
    titles = {str(line.id): _in_few_words(line) for line in lines}

    # Among equals the shortest, so that more can be said.
    for line in sorted(lines, key=lambda line: (urgency(line), len(titles[str(line.id)]))):
        whom = found.setdefault(titles[str(line.id)], {})
        whom |= dict.fromkeys(filter(None, [line.lot or about(line) or places_named(line.places)]))
    return [(what, list(whom)) for what, whom in found.items()]


def urgency(line: Line) -> tuple[bool, int, bool]:
    """What comes first of a round's jobs: troubles, those that spread in front, and treatments; then what is late."""
    spreads = _SPREADS.index(line.rule.after) if line.rule.after in _SPREADS else len(_SPREADS)
    return not pressing(line.rule), spreads, line.late_since is None


def _in_few_words(line: Line) -> str:
    rule = rule_of_line(line)
    return (rule.short or rule.title).rstrip("?.")


def _others(each: Round, jobs: int) -> str:
    """` +4 jobs`, or how many looks there are besides."""
    looks = len({line.lot or line.bin for line in each.lines if line.look is not None})
    for number, word in ((jobs, "job"), (looks, "look")):
        if number:
            return f" +{so_many(number, word)}"
    return ""


def _where(each: Round, most: int) -> str:
    """`1b, 2b, 5a`, where there is no room `9 lots in A, B` or `3 in A, 6 elsewhere`, of lots in no bin `1b, 2b +6`."""
    lots = ", ".join(each.lots)
    if lots and len(lots) <= most:
        return lots
    stood_in, count = list(dict.fromkeys(place for line in each.lines for place in line.places)), len(each.lots)
    bins, kinds = [place.name for place in stood_in], {place.kind for place in stood_in}
    number = f"{len(bins)} {f'{kinds.pop()}s' if len(kinds) == 1 else 'places'}"
    if not count:
        return next(way for way in (places_named(stood_in), number) if way == number or len(way) <= most)
    many = so_many(count, "lot")
    here = len({line.lot for line in each.lines if line.bin and line.lot})
    places = [", ".join(bins), number]
    if not bins or not here:
        ways = [lots_in(each.lots, most)]
    elif here < count:
        ways = [
            f"{what} in {place}, {count - here} elsewhere" for place in places for what in (so_many(here, "lot"), here)
        ]
    else:
        ways = [f"{many} in {place}" for place in places]
    return next((way for way in ways if len(way) <= most), many)
