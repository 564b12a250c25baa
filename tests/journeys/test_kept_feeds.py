"""A phone that subscribed before this version notices nothing: run over a feed kept from then, all in it goes on."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from icalendar import Component

from tests.feeds import entries_in
from tests.journeys.keep_feeds import DAYS, kept, run_over

Entries = dict[str, tuple[Component, bytes]]


def entries(feed: bytes) -> Entries:
    """Each entry of a feed by its id, read and as bytes."""
    parts = [
        b"BEGIN:VEVENT\r\n" + part.partition(b"END:VEVENT\r\n")[0] for part in feed.split(b"\r\nBEGIN:VEVENT\r\n")[1:]
    ]
    read = entries_in(feed)
    assert len(parts) == len(read)
    return {str(entry["X-STICKDATE-ID"]): (entry, part) for entry, part in zip(read, parts, strict=True)}


def is_over(entry: Component, day: date) -> bool:
    start = entry.decoded("DTSTART")
    assert isinstance(start, date)
    return (start.date() if isinstance(start, datetime) else start) < day


@pytest.fixture(params=DAYS)
def before_and_after(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[Entries, Entries, date]:
    """The entries of a kept feed, those this version makes of it on the same day, and the day."""
    day = DAYS[request.param]
    return entries(kept(request.param)), entries(run_over(kept(request.param), request.param, tmp_path, day)), day


def test_every_entry_of_a_feed_from_before_goes_on_under_its_name(
    before_and_after: tuple[Entries, Entries, date],
) -> None:
    before, after, _ = before_and_after

    assert {name: str(entry["UID"]) for name, (entry, _) in before.items()} == {
        name: str(entry["UID"]) for name, (entry, _) in after.items()
    }


def test_no_byte_of_what_is_over_changes_in_a_feed_from_before(
    before_and_after: tuple[Entries, Entries, date],
) -> None:
    before, after, day = before_and_after
    over = {name: data for name, (entry, data) in before.items() if is_over(entry, day)}

    assert over
    assert {name: after[name][1] for name in over} == over


def test_unchanged_dates_and_stamps_of_a_feed_from_before(before_and_after: tuple[Entries, Entries, date]) -> None:
    # Where this version words an entry anew it has a new stamp, and stays on its day.
    before, after, _ = before_and_after

    for name, (entry, data) in before.items():
        again, data_again = after[name]
        assert [entry.decoded(each) for each in ("DTSTART", "DTEND")] == [
            again.decoded(each) for each in ("DTSTART", "DTEND")
        ], name
        same_words = all(entry[each] == again[each] for each in ("SUMMARY", "DESCRIPTION"))
        assert (data == data_again) if same_words else again.decoded("SEQUENCE") > entry.decoded("SEQUENCE"), name


def test_the_morning_after_what_was_over_is_still_as_it_was(tmp_path: Path) -> None:
    day = DAYS["quince-lane"]
    before = entries(kept("quince-lane"))

    after = entries(run_over(kept("quince-lane"), "quince-lane", tmp_path, day + timedelta(days=1)))

    assert {name: after[name][1] for name, (entry, _) in before.items() if is_over(entry, day)} == {
        name: data for name, (entry, data) in before.items() if is_over(entry, day)
    }
    assert len({str(entry["UID"]) for entry, _ in after.values()}) == len(after)
    assert max(entry.decoded("DTSTAMP") for entry, _ in after.values()) <= datetime(2026, 2, 25, 20, tzinfo=UTC)
