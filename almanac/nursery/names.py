"""The names that stand in a nursery's files, for what is typed half: read in a moment, whatever else is wrong there.

Nothing is checked and nothing planned: of a file that cannot be read there are no names. Reads files; never writes.
"""

from __future__ import annotations

import csv
import re
import tomllib
from collections.abc import Iterator
from functools import cached_property
from pathlib import Path
from typing import Any

from almanac.nursery.events import EVENTS
from almanac.plain import dataclass

_ID = b"X-STICKDATE-ID:"
_LOT = re.compile(r"[1-9][0-9]{0,5}[a-z]{1,3}")
_STEPS = ("stuck", "potted", "set_out", "outside")
_MILESTONES = (*_STEPS, *(event.name for event in EVENTS.values() if event.kind == "sign" and event.target != "crop"))
_NAMED_TABLES = {"cautions": "caution", "sources": "source", "supplies": "supply", "law": "law"}


@dataclass(frozen=True, kw_only=True)
class Names:
    """Names by what they are of; `folder` None where one stands in no nursery, `shipped` holds the rule files."""

    folder: Path | None
    shipped: Path

    @cached_property
    def lots(self) -> dict[str, str]:
        """Every lot that was logged, with the name of its variety; the latest first."""
        found: dict[str, str] = {}
        for row in self._rows("logbook.csv")[::-1]:
            for cell in (row.get("lot", ""), row.get("refers", "")):
                if _LOT.fullmatch(cell):
                    found.setdefault(cell, self.varieties.get(re.sub(r"[a-z]+$", "", cell), ""))
        return found

    @cached_property
    def varieties(self) -> dict[str, str]:
        """Numbers, each with its name."""
        return {row["number"]: row.get("name", "") for row in self._rows("varieties.csv") if row.get("number")}

    @cached_property
    def rows(self) -> dict[str, str]:
        """Rows of the logbook, the last first, each with what it says."""
        rows = self._rows("logbook.csv")[::-1]
        return {
            row["id"]: f"{row.get('date', '')} {row.get('what', '')} {row.get('lot', '')}"
            for row in rows
            if row.get("id")
        }

    @cached_property
    def orders(self) -> dict[str, str]:
        """Orders, the last first."""
        rows = self._rows("orders.csv")[::-1]
        return {row["order"]: f"{row.get('count', '')} of {row.get('variety', '')}" for row in rows if row.get("order")}

    @cached_property
    def bins(self) -> dict[str, str]:
        """Bins by their name."""
        return dict.fromkeys(self._named("bin"), "")

    @cached_property
    def shelters(self) -> dict[str, str]:
        """Shelters by their name."""
        return dict.fromkeys(self._named("shelter"), "")

    @cached_property
    def entries(self) -> dict[str, str]:
        """Entries of the calendar as last written, and the milestones of each lot."""
        path = self.folder / "calendar" / "everything.ics" if self.folder else None
        try:
            lines = path.read_bytes().splitlines() if path else []
        except OSError:
            lines = []
        found = {line[len(_ID) :].decode("utf-8", "replace"): "" for line in lines if line.startswith(_ID)}
        return found | {f"{lot}.{sign}": "" for lot in self.lots for sign in _MILESTONES}

    @cached_property
    def crops(self) -> dict[str, str]:
        """Crops that there is a rule file for."""
        return {path.stem: "" for path in self._rule_files("crops")}

    @cached_property
    def methods(self) -> dict[str, str]:
        """Ways of rooting."""
        return {path.stem: "" for path in self._rule_files("methods")}

    @cached_property
    def rules(self) -> dict[str, str]:
        """Whatever `rules show` takes: crops, methods, tasks, care files, cautions, sources, supplies, laws."""
        found = self.crops | self.methods | {path.stem: "" for path in self._rule_files("care")}
        for path in (*self._rule_files("methods"), *self._rule_files("care")):
            tasks = _toml(path).get("task")
            items = tasks if isinstance(tasks, list) else []
            found |= {
                str(each["id"]): str(each.get("title", "")) for each in items if isinstance(each, dict) and "id" in each
            }
        for path in self._rule_files("."):
            named = _toml(path).get(_NAMED_TABLES.get(path.stem, ""))
            found |= dict.fromkeys(map(str, named), "") if isinstance(named, dict) else {}
        return found

    def _rule_files(self, kind: str) -> Iterator[Path]:
        own = [self.folder / "rules"] if self.folder else []
        for root in (self.shipped, *own):
            yield from sorted((root / kind).glob("*.toml"))

    def _named(self, table: str) -> list[str]:
        found = _toml(self.folder / "nursery.toml").get(table) if self.folder else None
        items = found if isinstance(found, list) else []
        return [str(each["name"]) for each in items if isinstance(each, dict) and "name" in each]

    def _rows(self, name: str) -> list[dict[str, str]]:
        if self.folder is None:
            return []
        try:
            with open(self.folder / name, encoding="utf-8-sig", errors="replace", newline="") as stream:
                return [
                    {key or "": cell or "" for key, cell in row.items() if isinstance(cell, str)}
                    for row in csv.DictReader(stream)
                ]
        except (OSError, csv.Error):
            return []


def _toml(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        return {}
