"""The source is walked for habits that make sentences steer the program: text read back, ids put together by hand.

What travels inside is data; text is taken apart only where it comes in from outside. Those places stand here, each with
what it reads; one that is not needed any more must go from the list.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[2] / "almanac"
TAKES_APART = {
    "split", "rsplit", "partition", "rpartition", "splitlines", "startswith", "endswith", "removeprefix",
    "removesuffix", "find", "match", "fullmatch", "search", "findall", "finditer", "sub",
}  # fmt: skip
SENTENCES = {"text", "title", "how", "checklist", "log", "reason", "message", "note", "headline", "why", "summary"}
SAID = {"str", "title", "reason", "warning_text", "forecast", "fact_text", "line_text", "fault_line", "told"}

READERS = {  # whole modules whose business is text from outside
    "actions/caldav.py": "the address of a calendar server",
    "actions/guide.py": "chapters of the guide: the question at the head",
    "cli/answering.py": "what was typed: lists of words, chances, varieties",
    "feed/in_step.py": "calendar objects as a server holds them",
    "feed/previous.py": "the last feed",
    "feed/publish.py": "the last feed's own lines, taken over as bytes",
    "feed/trouble.py": "the last feed's own lines, taken over as bytes",
    "feed/whole.py": "feeds as they lie or were handed out",
    "faults.py": "a word as typed, beside those that are known",
    "disk.py": "names of files that a killed write left",
    "kept.py": "a file of what was kept, and the names of such files",
    "nursery/append.py": "the end of a file",
    "nursery/copies.py": "a table's copy, line by line",
    "actions/importing.py": "rows typed elsewhere",
    "nursery/foreign.py": "a file as a spreadsheet saved it",
    "nursery/frost_source.py": "a station's daily record",
    "nursery/logbook.py": "logbook.csv",
    "nursery/names.py": "the nursery's files, for the names in them alone",
    "nursery/new.py": "what was typed, to be written",
    "nursery/order_rows.py": "orders.csv",
    "nursery/rewritten.py": "a date as a spreadsheet rewrote it",
    "nursery/settings.py": "nursery.toml: an address, a number",
    "nursery/settings_frost.py": "nursery.toml: days, shares of years",
    "nursery/settings_places.py": "nursery.toml: clock times",
    "nursery/settings_site.py": "nursery.toml: a unit behind twelve numbers",
    "nursery/tables.py": "logbook.csv and orders.csv as tables, cells to write, numbers used",
    "nursery/varieties.py": "varieties.csv",
    "pictures/measure.py": "layout: words to be broken into lines; the table of widths",
    "plan/ids.py": "ids: the one parser",
    "rulebook/book.py": "a rule's text: the values it names",
    "rulebook/changes.py": "rule files: which values are numbers",
    "rulebook/fields.py": "values held to a form",
    "rulebook/agreement.py": "rule files, their names and texts",
    "rulebook/kept_tables.py": "the names of classes",
    "rulebook/load.py": "rule files, their names and texts",
    "rulebook/new.py": "the text of a rule file, to be written anew",
    "rulebook/toml_text.py": "TOML, and what its reader says of it",
    "rulebook/models.py": "a rule's `log`: a command, kept as rule files have it",
    "site/daily.py": "a station's daily record",
    "site/stations.py": "the shipped table of stations",
    "site/towns.py": "the shipped table of towns, and a town as typed",
    "terminal/encoded.py": "the keys of a shape, as its command names them",
    "units.py": "quantities as written",
    "web/form.py": "a form as posted",
}
ALLOWED = {  # single lines elsewhere
    "actions/placing.py: LOT_ID.fullmatch(row.lot)": "a lot's id in the logbook: number and letter",
    "actions/publish.py: file.rpartition('.')": "a file's name",
    "actions/outdated.py: path.read_bytes().partition(b'\\n')": "the first line of varieties.csv",
    "actions/completion.py: text.endswith('\\n')": "what a shell reads at its start",
    "actions/completion.py: text.split(_line(path))": "the same",
    "cli/main.py: name.startswith(incomplete)": "a word begun",
    "cli/completing.py: word.lower().startswith(begun.lower())": "the same",
    "actions/start.py: _ID.sub(f'id = \"{uuid4()}\"', texts[SETTINGS], count=1)": "the id of the invented nursery",
    "actions/rules.py: _ID.fullmatch(stem)": "an id as typed",
    "actions/request.py: re.fullmatch('-([0-9]{1,3})d?', text)": "a day as typed",
    "actions/request.py: LOT_ID.fullmatch(word.lower())": "a lot as typed",
    "actions/row_ids.py: _WISHED.fullmatch(wished)": "the id that a phone wishes for a row",
    "actions/row_ids.py: _WISHED.fullmatch(stem)": "ids of rows, which the logbook holds as text",
    "actions/row_ids.py: row_id.partition('.')": "the same",
    "actions/row_ids.py: f'{wished}.{number}'": "the same",
    "actions/around.py: Path(name).stem.split('.')": "names of files",
    "actions/around.py: name.startswith(stems)": "the same",
    "actions/around.py: name.startswith(Path(table.name).stem)": "the same",
    "by_stem.py: f'{package}.{name}'": "a module's name",
    "rulebook/checked.py: kind.startswith('date')": "the library's name of a kind of fault",
    "plain.py: str(field.type).removeprefix('Annotated[')": "a type as the source has it",
    "plain.py: str(field.type).removeprefix('Annotated[').startswith('Mapping[')": "the same",
    "cli/common.py: _STEERING.sub('?', text)": "signs that would steer a terminal",
    "cli/publish.py: base.lower().startswith(('http://', 'https://'))": "an address as typed",
    "cli/publish.py: text.split('\\n')": "layout: in one line",
    "words/left_out.py: name.removesuffix('s')": "a crop as typed, in the plural",
    "words/left_out.py: name.removesuffix('ies')": "the same",
    "words/sentences.py: text.split()": "layout: in one line",
    "words/sentences.py: words.endswith('?')": "layout: no second sign after a question",
    "words/sentences.py: words.endswith('.')": "layout: whether words stand by themselves",
    "feed/entry.py: _CONTROL.sub(' ', text.replace('\\r\\n', '\\n').replace('\\\\N', '\\n'))": "control characters",
    "feed/entry.py: text.replace('\\r\\n', '\\n').replace('\\\\N', '\\n')": "the same",
    "nursery/ledger.py: LOT_ID.fullmatch(row.lot)": "a lot's id in the logbook: number and letter",
    "nursery/ledger.py: LOT_ID.fullmatch(wanted)": "the same",
    "nursery/turns.py: earlier.startswith(_TICKET)": "a file's name",
    "pictures/sale_list.py: text.startswith(_FORMULA)": "a cell that a spreadsheet would take for a formula",
    "site/holidays.py: own.startswith('en')": "the code of a language",
    "terminal/last_plan.py: entry.description.split('\\n')": "layout: an entry's lines",
    "terminal/published.py: file.endswith('.ics')": "a file's name",
    "terminal/lots.py: text.replace(_KEPT, ' ')": "layout: spaces at which no line is broken",
    "terminal/table.py: line.startswith('- ')": "layout: a list's lines hang under their words",
    "terminal/table.py: text.splitlines()": "layout",
    "web/page.py: _BACK.fullmatch(named)": "an address to go back to",
    "words/rules.py: VALUE.sub('…', rule.title)": "values that a rule's text names",
    "web/page.py: _ASIDE.match(request.path)": "the address asked for",
    "words/subscribing.py: address.partition('://')": "an address as it is handed out",
    "words/derivation.py: VALUE.sub(lambda name: known.get(name[1], name[0]), text)": "values that a rule's text names",
}


def modules() -> list[str]:
    return sorted(str(path.relative_to(SOURCE)) for path in SOURCE.rglob("*.py"))


@cache
def habits(name: str) -> tuple[str, ...]:
    tree = ast.parse((SOURCE / name).read_text(encoding="utf-8"))
    return tuple(f"{name}: {ast.unparse(node)}" for node in ast.walk(tree) if any(_is_habit(node)))


def _is_habit(node: ast.AST) -> Iterator[bool]:
    match node:
        case ast.Call(func=ast.Attribute(attr=method)) if method in TAKES_APART:
            yield True
        case ast.Call(func=ast.Attribute(attr="replace"), args=[ast.Constant(value=str(old)), _, *_]):
            yield any(letter.isalpha() for letter in old)
        case ast.Call(func=ast.Attribute(attr="replace"), args=[ast.Name(), _, *_]):
            yield True
        case ast.Compare(
            ops=[ast.In() | ast.NotIn(), *_], comparators=[ast.Attribute(attr=held) | ast.Name(id=held), *_]
        ):
            yield held in SENTENCES and isinstance(node.left, ast.Constant | ast.Name)
        case ast.Compare(ops=[ast.In() | ast.NotIn(), *_], comparators=[ast.Call(func=ast.Name(id=said)), *_]):
            yield said in SAID
        case ast.Compare(comparators=[*others]):
            texts = [each.value for each in (node.left, *others) if isinstance(each, ast.Constant)]
            yield any(isinstance(text, str) and " " in text.strip() for text in texts)
        case ast.JoinedStr(values=[ast.FormattedValue(), ast.Constant(value=str(joint)), ast.FormattedValue(), *_]):
            yield joint in (".", "~")


def test_nothing_inside_reads_a_sentence_or_takes_an_id_apart() -> None:
    found = [each for name in modules() if name not in READERS for each in habits(name)]

    assert [each for each in found if each not in ALLOWED] == []


def test_each_exception_is_needed() -> None:
    assert [name for name in READERS if not (SOURCE / name).is_file() or not habits(name)] == []
    assert [each for each in ALLOWED if each not in habits(each.partition(": ")[0])] == []


@pytest.mark.parametrize(
    "line",
    [
        "head, _, span = coming.partition(' (')",
        "title(task).split('. ')[0]",
        "seen.endswith(f' of {count}')",
        "'column' in fault.text",
        "'column' in text",
        "word in fault.text",
        "'full' in str(error)",
        "text.replace('add --force', 'tick it')",
        "text.replace(words, instead)",
        "status == 'on time'",
        "name = f'{lot.id}.{rule.id}'",
        "entry.id.startswith('round.')",
    ],
)
def test_a_habit_is_known_when_it_is_seen(line: str) -> None:
    assert any(any(_is_habit(node)) for node in ast.walk(ast.parse(line)))


OPEN = {  # matches over what has no closed list of kinds
    "actions/writing.py: error.fact.kind": "facts are of many kinds; a few are told otherwise",
    "web/app.py: error.code": "codes of HTTP",
    "web/trouble.py: fact.kind if isinstance(fact, Fact) else ''": "facts are of many kinds",
}


@cache
def open_matches() -> tuple[str, ...]:
    """Matches that would pass over a kind that is added, each by its file and what is matched."""
    found = []
    for name in modules():
        for node in ast.walk(ast.parse((SOURCE / name).read_text(encoding="utf-8"))):
            match node:
                case ast.Match(cases=[*_, ast.match_case(pattern=ast.MatchAs(pattern=None, name=None), body=[last])]):
                    closed = ast.unparse(last).startswith("assert_never(")
                case ast.Match():
                    closed = False
                case _:
                    continue
            if not closed:
                found.append(f"{name}: {ast.unparse(node.subject)}")
    return tuple(found)


def test_a_kind_that_is_added_is_passed_over_by_no_match() -> None:
    assert [each for each in open_matches() if each not in OPEN] == []
    assert [each for each in OPEN if each not in open_matches()] == []


FEW = {  # kept for good by what there are only few of
    "kept.py: _readers": "kinds of what is kept",
    "plain.py: _parts": "classes",
    "rulebook/checked.py: _model_of": "tables",
    "rulebook/fields.py: _declared": "tables",
    "rulebook/models.py: care_model": "names of programmes",
    "site/freeze_year.py: _indices": "the halves of the earth",
    "site/holidays.py: _calendar_of": "codes of countries",
    "site/holidays.py: _regions": "codes of countries",
}


def test_what_is_kept_by_what_it_was_asked_with_is_bounded() -> None:
    kept = [
        f"{name}: {node.name}"
        for name in modules()
        for node in ast.walk(ast.parse((SOURCE / name).read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef) and node.args.args
        if any(ast.unparse(each) in ("cache", "lru_cache(maxsize=None)") for each in node.decorator_list)
    ]

    assert sorted(kept) == sorted(FEW)
