"""Quantities with their units as written in files (`"78 F"`, `"4 in"`), to SI numbers and back. Pure.

Inside the program temperatures are °C, lengths cm, elevations m, volumes litres, masses grams, times days or hours, the
sun's radiation MJ on a square metre in a day.
A bare number is never guessed at.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final, Literal

from almanac.faults import Fact, Miswritten, as_found

System = Literal["us", "metric"]
_SCALES: Final[dict[System, str]] = {"us": "F", "metric": "C"}

# kind -> unit -> (factor, offset): SI value = (number + offset) * factor.
# Factors: NIST Handbook 44, Appendix C (exact definitions of the US customary units).
_UNITS: Final[dict[str, dict[str, tuple[float, float]]]] = {
    "temperature": {"c": (1.0, 0.0), "f": (5 / 9, -32.0)},
    "temperature difference": {"c": (1.0, 0.0), "f": (5 / 9, 0.0)},
    "elevation": {"m": (1.0, 0.0), "ft": (0.3048, 0.0)},
    "length": {"cm": (1.0, 0.0), "mm": (0.1, 0.0), "m": (100.0, 0.0), "in": (2.54, 0.0), "ft": (30.48, 0.0)},
    "volume": {
        "l": (1.0, 0.0),
        "ml": (0.001, 0.0),
        "qt": (0.946352946, 0.0),
        "gal": (3.785411784, 0.0),
        "fl oz": (0.0295735295625, 0.0),
        "cu ft": (28.316846592, 0.0),
    },
    "mass": {"g": (1.0, 0.0), "kg": (1000.0, 0.0), "oz": (28.349523125, 0.0), "lb": (453.59237, 0.0)},
    "days": {"d": (1.0, 0.0), "w": (7.0, 0.0)},
    "hours": {"h": (1.0, 0.0)},
    "radiation": {"mj": (1.0, 0.0), "kwh": (3.6, 0.0)},
}
_SHOWN_IN: Final[dict[str, dict[System, str]]] = {
    "elevation": {"us": "ft", "metric": "m"},
    "length": {"us": "in", "metric": "cm"},
    "volume": {"us": "gal", "metric": "l"},
    "mass": {"us": "oz", "metric": "g"},
}
# How each kind is written, as a grower may.
_EXAMPLES: Final = {
    "temperature": ("78 F", "25.5 C"),
    "temperature difference": ("5 F", "3 C"),
    "elevation": ("1150 ft", "350 m"),
    "length": ("4 in", "10 cm"),
    "volume": ("0.7 gal", "2.8 l"),
    "mass": ("412 g", "14 oz"),
    "days": ("24 d", "6 w"),
    "hours": ("14 h",),
    "radiation": ("14.2 MJ", "3.9 kWh"),
}
# Beyond these a slip of the key is surer than the value: no air on earth is colder than -90 °C, and water boils at
# 100 °C; the rest is wide enough for any nursery. Within them no sum of days leaves the calendar.
_RANGES: Final = {
    "temperature": ("-90 C", "100 C"),
    "temperature difference": ("-100 C", "100 C"),
    "elevation": ("-500 m", "9000 m"),
    "length": ("0 cm", "100 m"),
    "volume": ("0 l", "10000 l"),
    "mass": ("0 g", "1000 kg"),
    "days": ("0 d", "3660 d"),
    "hours": ("0 h", "24 h"),
    "radiation": ("0 MJ", "50 MJ"),  # of a day on a square metre; above the air it is 47 at most
}
_WARMTH: Final = ("-30 C", "60 C")  # no mat is made hotter, and no bin stands in greater cold or heat
KINDS: Final = tuple(_UNITS)
_WRITTEN: Final = re.compile(r"\s*([+-]?[0-9]+(?:[.,][0-9]+)?)\s*°?\s*(cu ft|fl oz|[A-Za-z]*)\s*", re.IGNORECASE)


def parse(written: object, kind: str) -> float:
    """The SI value of a quantity as written.

    Args:
        written: what stood in the file, a text such as "78 F"
        kind: a key of the unit table, such as "temperature"
    Raises:
        Miswritten: no number, no unit, a unit of another kind, or out of range
    """
    given, like = as_found(written), _EXAMPLES[kind]
    match = _WRITTEN.fullmatch(str(written)) if isinstance(written, str | int | float) else None
    if match is None or isinstance(written, bool):
        raise Miswritten(Fact("not_a_quantity", given=given, quantity=kind, like=like))
    unit = match[2].lower()
    if not unit:
        raise Miswritten(Fact("no_unit", given=given, like=like))
    if unit not in _UNITS[kind]:
        raise Miswritten(Fact("other_unit", given=given, unit=match[2], quantity=kind, like=like))
    value = _si(match, kind)
    low, high = _RANGES[kind]
    if not _bound(low, kind) <= value <= _bound(high, kind):
        raise Miswritten(Fact("quantity_out_of_range", given=given, low=low, high=high))
    return value


def pattern(kind: str) -> str:
    """The form of what `parse` takes of a kind, as a regular expression that editors know too (ECMA 262)."""
    any_case = ("".join(f"[{c}{c.upper()}]" if c.isalpha() else c for c in unit) for unit in _UNITS[kind])
    return rf"^\s*[+-]?[0-9]+([.,][0-9]+)?\s*°?\s*({'|'.join(any_case)})\s*$"


def examples(kind: str) -> tuple[str, ...]:
    """How a quantity of a kind is written."""
    return _EXAMPLES[kind]


def parse_warmth(written: object) -> float:
    """The temperature of a mat, or of the air round a bin [°C]: one that a nursery can have. Raises Miswritten."""
    value, (low, high) = parse(written, "temperature"), _WARMTH
    if not _bound(low, "temperature") <= value <= _bound(high, "temperature"):
        raise Miswritten(Fact("quantity_out_of_range", given=as_found(written), low=low, high=high))
    return value


def _si(match: re.Match[str], kind: str) -> float:
    factor, offset = _UNITS[kind][match[2].lower()]
    return (float(match[1].replace(",", ".")) + offset) * factor


@lru_cache(maxsize=256)
def _bound(written: str, kind: str) -> float:
    match = _WRITTEN.fullmatch(written)
    assert match
    return _si(match, kind)


def named_unit(kind: str, system: System) -> str:
    """The unit that a field of the page names for a kind of quantity, as it is shown; empty where there is none."""
    return {"temperature": f"°{_SCALES[system]}", "mass": "g", "hours": "h"}.get(kind, "")


def in_named_unit(text: str, kind: str, system: System) -> str:
    """A quantity from a field that names its unit, as files hold it: a bare number is in that unit."""
    unit, match = named_unit(kind, system).strip("°"), _WRITTEN.fullmatch(text)
    return f"{match[1]} {unit}" if unit and match and not match[2] else text


def temperature(celsius: float, system: System) -> str:
    """A temperature as the nursery shows it: `78 °F`."""
    return f"{_degrees(celsius, system)} °{_SCALES[system]}"


def both_scales(*celsius: float) -> str:
    """A temperature, or a range of them, as texts of rules have it: `60 F (15.5 C)`, `75-81 F (24-27 C)`."""
    us, metric = ("-".join(dict.fromkeys(_degrees(each, system) for each in celsius)) for system in _SCALES)
    return f"{us} F ({metric} C)"


def setting(celsius: float, system: System) -> str:
    """A temperature as a grower sets it, for a file: `78 F`, `25.5 C`."""
    return f"{_degrees(celsius, system)} {_SCALES[system]}"


def _degrees(celsius: float, system: System) -> str:
    """To the whole degree Fahrenheit or half degree Celsius, the one rounding of temperatures that are shown."""
    return f"{round(celsius * 9 / 5 + 32)}" if system == "us" else f"{round(celsius * 2) / 2:g}"


def quantity(value: float, kind: str, system: System) -> str:
    """A quantity of a rule (SI) as the nursery shows it."""
    if kind == "temperature":
        return temperature(value, system)
    if kind == "temperature difference":
        return f"{value * 9 / 5:.2g} °F" if system == "us" else f"{value:.2g} °C"
    if kind not in _SHOWN_IN:
        return f"{value:.4g} {'h' if kind == 'hours' else kind}"
    unit = _SHOWN_IN[kind][system]
    amount = in_unit(value, kind, unit)
    if kind == "length":
        return f"{amount:.3g} {unit}"
    if kind == "volume" and amount < 10:
        return f"{amount:.2g} {unit}"
    return f"{amount:.1f} {unit}" if unit == "oz" else f"{amount:.0f} {unit}"


def in_unit(value: float, kind: str, unit: str) -> float:
    """A quantity (SI) in a unit of its kind that has the same zero, such as a volume in "cu ft"."""
    return value / _UNITS[kind][unit][0]


def written(celsius: float, system: System) -> str:
    """A temperature as a file holds it, to the last figure that matters: `77.9 F`, `25.55 C`."""
    return f"{round(celsius * 9 / 5 + 32 if system == 'us' else celsius, 2):g} {_SCALES[system]}"


def position(latitude_deg: float, longitude_deg: float) -> str:
    """A place on the map as it is shown: `37.27° N, 79.94° W`."""
    north, east = "S" if latitude_deg < 0 else "N", "W" if longitude_deg < 0 else "E"
    return f"{abs(latitude_deg):.2f}° {north}, {abs(longitude_deg):.2f}° {east}"


def distance(kilometres: float, system: System) -> str:
    """A distance on the map as the nursery shows it, to the whole mile or kilometre."""
    miles = kilometres / 1.609344  # NIST Handbook 44, Appendix C
    if system == "us":
        return "1 mile" if round(miles) == 1 else f"{miles:.0f} miles"
    return f"{kilometres:.0f} km"
