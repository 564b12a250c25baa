"""What a grower sees: every command, page and feed, for the examples and ten generated nurseries, as text to compare.

    python -m tests.planted.observe FOLDER              write what the program on the path prints, a file a scene
    python -m tests.planted.observe FOLDER --than OTHER print where it differs from an earlier writing

Scenes (`scenes`) know the command and the page alone, so two versions can be compared whatever their insides.
"""

from __future__ import annotations

import argparse
import contextlib
import difflib
import json
import logging
import os
import re
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from tests.planted.scenes import Sections, played, scenes


def written(sections: Sections) -> str:
    return "".join(f"=== {title}\n{text}" + ("" if text.endswith("\n") else "\n") for title, text in sections.items())


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--than", type=Path, help="an earlier writing to compare with")
    parser.add_argument("--first", action="store_true", help="stop at the first difference")
    parser.add_argument("--only", default="", help="scenes whose name holds this")
    parser.add_argument("--scenes", nargs="*", help="scenes of these names, in this order")
    parser.add_argument("--quick", action="store_true", help="one day of each nursery, and one that is logged to")
    parser.add_argument("--lines", type=int, default=12, help="lines shown of each difference")
    parser.add_argument("--lines-run", type=Path, help="a folder for which lines each scene runs, and its seconds")
    asked = parser.parse_args()
    os.environ.pop("STICKDATE_NURSERY", None)
    logging.disable()
    chosen = [scene for scene in scenes() if asked.only in scene.name and (scene.quick or not asked.quick)]
    if asked.scenes is not None:
        by_name = {scene.name: scene for scene in chosen}
        chosen = [by_name[name] for name in asked.scenes if name in by_name]
    differ = 0
    with _lines_run(asked.lines_run) as started:
        for scene in chosen:
            started(scene.name)
            text = written(played(scene))
            file = asked.folder / f"{scene.name}.txt"
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(text, encoding="utf-8", newline="")
            old = asked.than / f"{scene.name}.txt" if asked.than else None
            if old:
                differ += shown(scene.name, old.read_bytes().decode() if old.is_file() else "", text, asked.lines)
            if differ and asked.first:
                break
    if asked.than:
        print(f"{differ} of the commands, pages and feeds differ")
        sys.exit(bool(differ))


@contextlib.contextmanager
def _lines_run(folder: Path | None) -> Iterator[Callable[[str], object]]:
    """Note which lines run from here on, by the name last given, and the seconds of each name."""
    if folder is None:
        yield lambda name: name
        return
    import coverage

    marks: list[tuple[str, float]] = []
    watch = coverage.Coverage(data_file=str(folder / "seen"), source=["almanac"], config_file=False)
    watch.start()

    def started(name: str) -> None:
        watch.switch_context(name)
        marks.append((name, time.process_time()))

    yield started
    watch.stop()
    watch.save()
    ends = [*(start for _, start in marks[1:]), time.process_time()]
    took = {name: end - start for (name, start), end in zip(marks, ends, strict=True)}
    (folder / "seconds.scenes.json").write_text(json.dumps(took), encoding="utf-8")


def shown(name: str, old: str, new: str, lines: int) -> int:
    """Print where two writings of a scene differ, section by section; gives how many do."""
    before, after = _sections(old), _sections(new)
    differ = [title for title in {**before, **after} if before.get(title) != after.get(title)]
    for title in differ:
        print(f"--- {name}: {title}")
        found = difflib.unified_diff(
            before.get(title, "").split("\n"), after.get(title, "").split("\n"), lineterm="", n=0
        )
        for line in [each[:200] for each in found if not each.startswith(("---", "+++", "@@"))][:lines]:
            print(f"    {line}")
    return len(differ)


def _sections(text: str) -> Sections:
    parts = re.split(r"^=== (.*)\n", text, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


if __name__ == "__main__":
    main()
