"""How growers keep their logbooks: what each looks at, does, and writes down of it."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Habit:
    """What a grower logs of what was done.

    `logs` names the events written down (None: every one), `never` those that never are; `signs` says whether what a
    look shows is counted and logged. Every `rounds`-th round takes place; things are done `late` days after they were
    due, and where it is `weekly` written down on Sundays alone. `sells` plants one at a time; `plants` half of a lot;
    otherwise all stay. `years` is how many
    summers the walk sees beyond the first.
    """

    name: str
    logs: frozenset[str] | None = None
    never: frozenset[str] = field(default_factory=frozenset)
    signs: bool = False
    looks: bool = True
    troubles: bool = False
    rounds: int = 1
    late: int = 0
    weekly: bool = False
    sells: bool = False
    plants: bool = True
    years: int = 0

    @property
    def keeps_up(self) -> bool:
        """Whether the logbook says on each round what the bags show."""
        return self.signs and self.rounds == 1 and not self.weekly

    @property
    def comes_often(self) -> bool:
        """Whether every round takes place and is logged on its day."""
        return self.looks and self.rounds == 1 and not self.weekly

    def writes(self, what: str) -> bool:
        return what not in self.never and (self.logs is None or what in self.logs)


STEPS = frozenset({"taken", "stuck", "potted", "sold"})
EVERYTHING = Habit("logs everything", signs=True, troubles=True)
STUCK_AND_POTTED = Habit("logs only stuck and potted", logs=STEPS, looks=False)
LOOKS_ONLY = Habit("logs looks and potting, no signs", logs=STEPS | {"looked"})
HALF_THE_ROUNDS = Habit("goes to every other round", signs=True, rounds=2)
LATE = Habit("does things late and writes them up on Sundays", signs=True, late=5, weekly=True)
FORGETS_WOKE = Habit("logs resting, never woke", signs=True, never=frozenset({"woke"}), plants=False, years=1)
NEVER_RESTING = Habit("never logs resting", signs=True, never=frozenset({"resting", "woke"}), plants=False, years=1)
BY_ONES = Habit("sells one at a time", signs=True, sells=True, plants=False, years=1)
CARRIES_OVER = Habit("carries over twice", signs=True, plants=False, years=2)

BENCH = (EVERYTHING, STUCK_AND_POTTED, LOOKS_ONLY, HALF_THE_ROUNDS, LATE)
POTS = (FORGETS_WOKE, NEVER_RESTING, BY_ONES, CARRIES_OVER)
