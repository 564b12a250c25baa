"""The numbers of programmes: care whose days are worked out (a generation, a dose of light) instead of counted.

A care file of a programme's name holds them as `[programme]`, and marks as `worked` the tasks whose days it gives. Each
file here is named as that file is, and found by its name; they stand below the plan because forecasts read them too.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import ModuleType

from almanac.by_stem import modules_in
from almanac.rulebook.programme_numbers import ProgrammeNumbers


def _numbers(module: ModuleType) -> type[ProgrammeNumbers]:
    """The numbers that a file gives: the one class of them that is written there."""
    [found] = (
        each
        for each in vars(module).values()
        if isinstance(each, type) and issubclass(each, ProgrammeNumbers) and each.__module__ == module.__name__
    )
    return found


NUMBERS: Mapping[str, type[ProgrammeNumbers]] = {
    stem: _numbers(module) for stem, module in modules_in(__name__).items()
}
