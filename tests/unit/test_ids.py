"""Ids of entries: a value with parts, the text of which never changes; one parser reads it back."""

from __future__ import annotations

import copy
import shutil
from collections.abc import Iterable
from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from almanac.actions.look import look
from almanac.feed.entries import entries_of
from almanac.feed.previous import read_previous
from almanac.feed.publish import publication
from almanac.plan.ids import ROOMS, EntryId, parse
from almanac.plan.model import Plan
from tests.examples import EXAMPLES

NOW = datetime(2028, 1, 1, tzinfo=UTC)
DAYS = (date(2026, 2, 24), date(2026, 5, 5), date(2026, 10, 6), date(2027, 1, 7))

lots = st.from_regex(r"[1-9][0-9]{0,5}[a-z]{1,3}", fullmatch=True)
# A rule or crop may be named like something else ("order.light", "bench.nothing"): such a text is that.
rules = st.from_regex(r"[a-z][a-z0-9_]{0,12}", fullmatch=True).filter(lambda name: name not in (*ROOMS, "order"))
bins = st.from_regex(r"[A-Z][A-Za-z0-9_-]{0,19}", fullmatch=True)
rows = st.from_regex(r"r[1-9][0-9]{0,5}|[a-qs-z][a-z0-9]{7,12}\.[1-9]", fullmatch=True)
steps = st.sampled_from(["", "1", "2026", "2026.3", "03-14"])
made = st.one_of(
    st.builds(EntryId, lots, rules, steps),
    st.builds(EntryId, bins, rules, steps),
    st.builds(EntryId, rules, rules, steps),
    st.builds(EntryId, rules, rules, steps, lots),
    st.builds(EntryId, rows, rules),
    st.builds(EntryId, st.just(""), rules, st.just("2026")),
    st.builds(EntryId.of_round, st.dates()),
    st.builds(EntryId.of_order, st.from_regex(r"[A-Za-z0-9][A-Za-z0-9_-]{0,19}", fullmatch=True)),
    st.builds(EntryId.of_room, st.sampled_from(ROOMS), st.one_of(st.just(""), bins)),
    st.builds(EntryId.of_empty, st.sampled_from(["bench", "seasons", "sales"])),
)


def parts(name: EntryId) -> tuple[object, ...]:
    return name.kind, name.about, name.rule, name.step, name.lot, name.turn


@given(made, st.integers(1, 12))
@example(EntryId.of_room("bin_full", "A"), 2)
@example(EntryId.of_room("lamps_full"), 1)
def test_an_id_read_back_from_its_text_has_the_parts_it_was_made_of(name: EntryId, turn: int) -> None:
    again = name.again(turn)
    assert parts(parse(str(again))) == parts(again)
    assert str(parse(str(again))) == str(again)


@given(st.one_of(st.text(), st.from_regex(r"[a-z0-9.~]{0,12}", fullmatch=True)))
@example("7a.pot_up~1")
@example("7a.pot_up~02")
@example("order.~2")
def test_whatever_stands_in_a_feed_or_is_typed_is_kept_to_the_byte(text: str) -> None:
    name = parse(text)

    assert str(EntryId(name.about, name.rule, name.step, name.lot, turn=name.turn, kind=name.kind)) == text
    assert parts(copy.deepcopy(name)) == parts(name)


def ids_of(plan: Plan) -> Iterable[EntryId]:
    yield from (own.id for task in plan.tasks for own in (task, *task.own))
    yield from (each.id for each in plan.looks)
    yield from (each.id for each in plan.rounds)
    yield from (line.id for each in plan.rounds for line in each.lines)
    yield from (warning.shortage.id for warning in plan.warnings if warning.shortage)


@pytest.mark.parametrize("nursery", sorted(folder.name for folder in EXAMPLES.iterdir()))
def test_every_id_of_the_examples_is_read_back_from_plan_and_feed(nursery: str, tmp_path: Path) -> None:
    folder = shutil.copytree(EXAMPLES / nursery, tmp_path / nursery, ignore=shutil.ignore_patterns("calendar"))
    seen: set[str] = set()
    for day in DAYS:
        reading = look(folder, NOW, day)
        made, own = entries_of(reading.plan, reading.nursery), reading.nursery.settings.nursery.id
        feed = publication(made, reading.previous, "", own, NOW, day)

        known = {str(name): name for name in ids_of(reading.plan)} | {str(entry.id): entry.id for entry in made}
        back = read_previous(feed.feeds["everything"], ZoneInfo("UTC")).entries.values()

        assert {parts(parse(text)) for text in known} == {parts(name) for name in known.values()}
        assert {parts(each.id) for each in back} == {parts(entry.id) for entry in made}
        assert {name for each in back for name in each.holds} == {name for entry in made for name in entry.holds}
        seen |= {name.kind for name in known.values()}
    assert seen >= {"task", "round"}


def test_an_entry_is_of_the_lot_that_it_is_about_or_named_after() -> None:
    assert parse("7a.pot_up~2").of_lot == parse("7a.feed.2027.3").of_lot == parse("fig.harden.1.7a").of_lot == "7a"
    assert not parse("A.light.2026").of_lot + parse("round.2027-02-14").of_lot + parse("fig.offer.2026").of_lot


def test_an_order_named_like_a_lot_is_of_no_lot() -> None:
    assert parse("order.12a").about == "12a"
    assert not parse("order.12a").of_lot
