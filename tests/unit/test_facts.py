"""Every fact that is told has a sentence that takes its values, and every sentence is of a fact that is told."""

from __future__ import annotations

import errno
import inspect
from string import Formatter

import pytest
from filelock import Timeout

from almanac.faults import Fact, Fault, troubles
from almanac.words.faults import SENTENCES, in_short, told
from almanac.words.faults import TABLES as TABLES_JOINED
from almanac.words.refusals import IN_SHORT
from almanac.words.refused_entries import ON_THE_PAGE
from almanac.words.sentences import Sentence
from tests.facts import PACKAGE, facts_made

MADE = list(facts_made(PACKAGE.rglob("*.py")))
TABLES = {"command": SENTENCES, "page": ON_THE_PAGE, "title": IN_SHORT}
# What a tap on the page can be refused for is said there; by these it is refused.
PAGE = [PACKAGE / name for name in ("web/page.py", "web/form.py")]
PAGE += [PACKAGE / f"actions/{name}.py" for name in ("record", "undo", "walked", "placing", "promised", "mothers")]
# What is wrong with any file stands on the page that asks to mend it.
PAGE += [path for room in ("nursery", "rulebook", "site") for path in (PACKAGE / room).rglob("*.py")]


def takes(sentence: Sentence) -> set[str]:
    """The names of the values a sentence is made from."""
    if callable(sentence):
        return set(inspect.signature(sentence).parameters)
    return {name for _, name, _, _ in Formatter().parse(sentence) if name is not None}


def test_every_fact_has_a_sentence_made_from_all_its_values_and_no_others() -> None:
    known = SENTENCES | {kind: text for kind, text in ON_THE_PAGE.items() if kind not in SENTENCES}
    missing = [f"{where} {kind}" for kind, _, where in MADE if kind not in known]
    unlike = [f"{where} {kind}" for kind, names, where in MADE if kind in known and takes(known[kind]) != names]

    assert missing == []
    assert unlike == []


def test_every_sentence_is_of_a_fact_that_is_told() -> None:
    made = {kind for kind, _, _ in MADE}

    assert {name: set(table) - made for name, table in TABLES.items()} == {
        "command": set(),
        "page": set(),
        "title": set(),
    }


def test_no_two_tables_have_a_sentence_for_one_kind() -> None:
    assert sum(map(len, TABLES_JOINED)) == len(SENTENCES)


@pytest.mark.parametrize("table", ["page", "title"])
def test_another_outlet_says_the_same_fact_from_the_same_values(table: str) -> None:
    both = SENTENCES.keys() & TABLES[table].keys()

    assert [kind for kind in both if not takes(TABLES[table][kind]) <= takes(SENTENCES[kind])] == []


def test_the_page_names_no_option_and_no_command() -> None:
    told = {
        kind: ON_THE_PAGE.get(kind) or SENTENCES[kind]
        for kind, _, _ in facts_made(iter(PAGE))
        if kind in SENTENCES | ON_THE_PAGE
    }
    words = {kind: inspect.getsource(said) if callable(said) else said for kind, said in (told | ON_THE_PAGE).items()}

    assert [kind for kind, text in words.items() if "--" in text or "stickdate" in text] == []


@pytest.mark.parametrize(
    ("error", "kind"),
    [
        (OSError(errno.ENOSPC, "No space left on device", "logbook.csv"), "disk_full"),
        (PermissionError(errno.EACCES, "Permission denied", "logbook.csv"), "not_permitted"),
        (OSError(errno.EROFS, "Read-only file system", "logbook.csv"), "not_permitted"),
        (OSError(errno.EIO, "Input/output error", "logbook.csv"), "machine_failed"),
    ],
)
def test_what_the_machine_will_not_do_is_told_by_its_kind(error: OSError, kind: str) -> None:
    (trouble,) = troubles(error)

    assert isinstance(trouble, Fact)
    assert trouble == Fact(kind, file="logbook.csv", why=str(error.strerror).lower())
    assert told(trouble) == f"logbook.csv: {str(error.strerror).lower()}"


def test_the_title_of_the_entry_that_says_what_to_mend_names_the_place_alone() -> None:
    missing, wrong = Fact("no_nursery", folder="lane", settings="nursery.toml"), Fact("count_zero")

    assert in_short(missing) == "nursery.toml"
    assert [in_short(Fault(file="logbook.csv", fact=wrong, line=line)) for line in (4, None)] == [
        "logbook.csv:4",
        "logbook.csv",
    ]


def test_a_lock_that_another_holds_is_told_as_busy() -> None:
    (trouble,) = troubles(Timeout(".stickdate.lock"))

    assert isinstance(trouble, Fact)
    assert trouble.kind == "busy"
    assert told(trouble).startswith("another command or a phone is writing")
