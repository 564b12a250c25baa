"""Questions in a terminal: one at a time, each answer checked when given, and kept so that one can leave and go on."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import click

from almanac.cli.waiting import enough
from almanac.faults import Fact, Refusal

Check = Callable[[str], Sequence[str]]  # what is wrong with an answer, a sentence each
FILE = "answers.json"


class Asking:
    """Answers by their key: as given by an option, as kept from before, else asked for, else the default.

    Without a terminal nothing is asked and nothing kept.
    """

    def __init__(self, folder: Path, given: Mapping[str, str | None]) -> None:
        enough()
        self.in_terminal = sys.stdin.isatty()
        self.answers = {key: value for key, value in given.items() if value is not None}
        self._given = set(self.answers)
        self._file = folder / FILE
        self._kept = _read(self._file) if self.in_terminal else {}

    @property
    def goes_on(self) -> bool:
        """Whether some answers are there from before."""
        return bool(self._kept.keys() - self._given)

    def ask(self, key: str, question: str, default: str | None = None, check: Check | None = None) -> str:
        """The answer. `default` None says that there must be one.

        Raises:
            Refusal: there is none, and no terminal to ask in
            click.Abort: the grower leaves
        """
        if key in self.answers:
            return self.answers[key]
        if not self.in_terminal:
            if default is None:
                raise Refusal(Fact("needs_option", option=f"--{key.replace('_', '-')}"))
            return self.set(key, default)
        if key in self._kept and not (check and check(self._kept[key])):
            answer = self._kept[key]
            click.echo(f"{question}: {answer}")
            return self.set(key, answer)
        return self.keep(key, self.once(question, check, default))

    def once(self, question: str, check: Check | None = None, default: str | None = "") -> str:
        """An answer that will do, asked for until it does; it is kept nowhere."""
        while True:
            said: str = click.prompt(question, default=default or "", show_default=bool(default))
            answer = said.strip()
            wrong = ["An answer is needed here."] if not answer and default is None else check(answer) if check else []
            if not wrong:
                return answer
            for sentence in wrong:
                self.say(sentence)

    def kept(self, key: str) -> str:
        """What was answered before one left; blank where nothing was."""
        return self._kept.get(key, "")

    def set(self, key: str, answer: str) -> str:
        """Take an answer without asking."""
        self.answers[key] = answer
        return answer

    def keep(self, key: str, answer: str) -> str:
        """Take an answer, and keep it in the folder until all are there."""
        self.set(key, answer)
        self._kept[key] = answer
        self._file.parent.mkdir(parents=True, exist_ok=True)
        self._file.write_text(json.dumps(self._kept, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
        return answer

    def forget(self) -> None:
        """Let go what was kept: the nursery has it now."""
        if self.in_terminal:
            self._file.unlink(missing_ok=True)

    @staticmethod
    def say(sentence: str) -> None:
        """Tell something between two questions."""
        click.echo(click.wrap_text(sentence, 78))

    @staticmethod
    def show(lines: str) -> None:
        """The same with lines as they are to stand."""
        click.echo(lines, nl=False)


def _read(file: Path) -> dict[str, str]:
    """What was answered before; an own file of no other worth, so a damaged one counts as none."""
    try:
        found = json.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return {str(key): str(value) for key, value in found.items()} if isinstance(found, dict) else {}
