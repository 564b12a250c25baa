"""The season as a chart of letters, no wider than a terminal, and as JSON. Pure."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from almanac.nursery.events import Stage
from almanac.pictures.chart_rows import Band, Row, Season, Stretch
from almanac.terminal.encoded import Shape
from almanac.terminal.table import WIDTH, paragraph
from almanac.words.dates import day, month, next_month, weekday

_LABEL, _COUNT = 6, 18
_COLUMNS = WIDTH - _LABEL - _COUNT  # for the days
_STAGES: dict[Stage, tuple[str, str]] = {
    "store": (".", "·"),
    "rooting": ("-", "─"),
    "pot": ("=", "═"),
    "outside": ("#", "█"),
}
_LETTERS = {"roots": "R", "leaves": "L", "potted": "P", "outside": "O", "pushing": "B"}
_ORDER = ("pushing", "leaves", "roots", "potted", "outside")  # what stands over what, where they meet


def chart_text(season: Season, *, fancy: bool = False) -> str:
    """A row a lot; `fancy` where the terminal can draw lines."""
    left = _LABEL + _COUNT
    head = f"{season.nursery}: the season on {weekday(season.as_of)} {season.as_of.year}"
    lines = [*paragraph(head), "", " " * left + _months(season), " " * left + _risk(season)]
    for place, rows in season.groups:
        lines.append(place)
        lines += [_row(row, season, fancy=fancy) for row in rows]
    if not season.groups:
        lines.append("No lots to show yet.")
    lines += ["rounds".ljust(left) + _rounds(season), ""]
    lines += paragraph(_key(season, fancy=fancy))
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _key(season: Season, *, fancy: bool) -> str:
    store, rooting, pot, outside = (_sign(stage, fancy=fancy) for stage in _STAGES)
    today = "│" if fancy else "|"
    return (
        f"{store} in store, {rooting} rooting, {pot} in pots, {outside} outside; {today} today, {day(season.as_of)}; "
        "what is right of it is forecast. R roots, L leaves, as seen, or small the likely day to come; p potted up, "
        "o outside for good, b buds may swell; ~ from the early to the late day. Above: f where frost is likelier than "
        "accepted. Below: ^ a round to come, x days away, X both."
    )


def _sign(stage: Stage, *, fancy: bool) -> str:
    return _STAGES[stage][fancy]


def _column(when: date, season: Season) -> int:
    share = (min(max(when, season.first), season.last) - season.first).days / (season.last - season.first).days
    return min(int(share * _COLUMNS), _COLUMNS - 1)


def _months(season: Season) -> str:
    line = [" "] * _COLUMNS
    when = next_month(season.first)
    free = 0
    while when <= season.last:
        at = _column(when, season)
        name = month(when)
        if at >= free and at + len(name) <= _COLUMNS:
            line[at : at + len(name)] = name
            free = at + len(name) + 1
        when = next_month(when)
    return "".join(line)


def _day_of(column: int, season: Season) -> date:
    return season.first + timedelta(days=(column * (season.last - season.first).days) // _COLUMNS)


def _risk(season: Season) -> str:
    return "".join("f" if season.risk(_day_of(n, season)) > season.accept else " " for n in range(_COLUMNS))


def _rounds(season: Season) -> str:
    line = [" "] * _COLUMNS
    for begin, end in season.away:
        for n in range(_column(begin, season), _column(end, season) + 1):
            line[n] = "x"
    for when in season.rounds:
        at = _column(when, season)
        line[at] = "X" if line[at] in "xX" else "^"
    return "".join(line)


def _row(row: Row, season: Season, *, fancy: bool) -> str:
    line = [" "] * _COLUMNS
    for stretch in row.stretches:
        if stretch.first <= season.last and stretch.last >= season.first:
            for n in range(_column(stretch.first, season), _column(stretch.last, season) + 1):
                line[n] = _sign(stretch.stage, fancy=fancy)
    if season.first <= season.as_of <= season.last:
        line[_column(season.as_of, season)] = "│" if fancy else "|"
    for band in sorted(row.bands, key=lambda band: _ORDER.index(band.name)):
        _lay(band, line, season)
    for name, when in row.signs:
        if season.first <= when <= season.last:
            line[_column(when, season)] = _LETTERS[name]
    label = "" if row.to_come else row.lot
    return label.ljust(_LABEL)[: max(_LABEL, len(label))] + f"{row.heading[: _COUNT - 1]:<{_COUNT}}" + "".join(line)


def _lay(band: Band, line: list[str], season: Season) -> None:
    if band.late < season.first or band.early > season.last:
        return
    for n in range(_column(band.early, season), _column(band.late, season) + 1):
        if line[n] not in "rlpob|│":
            line[n] = "~"
    at = _column(band.likely, season)
    if line[at] in "|│":
        at = min(at + 1, _COLUMNS - 1)
    line[at] = _LETTERS[band.name].lower()


def chart_json(season: Season) -> dict[str, Any]:
    """The same as one object: `places` with their `lots`, each with `stretches`, `bands` and `signs`."""
    return {
        **_SEASON(season),
        "places": [{"place": place, "lots": [_row_json(row, season) for row in rows]} for place, rows in season.groups],
        "rounds": season.rounds,
        "away": [{"from": begin, "to": end} for begin, end in season.away],
    }


_SEASON = Shape(Season, "as_of from=first to=last")
_STRETCH = Shape(Stretch, "stage from=first to=last logged=known")
_BAND = Shape(Band, "name early likely late")


def _row_json(row: Row, season: Season) -> dict[str, Any]:
    return {
        "lot": None if row.to_come else row.lot,
        "planned": row.lot if row.to_come else None,
        "stretches": [_STRETCH(each) | {"to": min(each.last, season.last)} for each in row.stretches],
        "bands": _BAND(row.bands),
        "signs": [{"name": name, "date": when} for name, when in row.signs],
    }
