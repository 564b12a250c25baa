"""What must hold of the feeds as bytes, first written and written again (RFC 5545 and 7986, named beside each)."""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from almanac.feed.entry import Entry
from almanac.feed.previous import Previous, read_previous
from almanac.feed.publish import Publication, publication
from almanac.feed.whole import events, is_whole
from almanac.plan.ids import EntryId, parse
from tests.feeds import entries_in
from tests.sizes import examples

NURSERY = "5d1f8a52-4c0e-4b57-9f6b-2d9b3a4f1c22"
ZONE = ZoneInfo("America/New_York")
NOW = datetime(2026, 2, 24, 18, 30, 15, 987654, tzinfo=UTC)
TODAY = date(2026, 2, 24)
NO_FEED_YET = Previous()


def entry(name: str, day: date, summary: str = "Look", **more: object) -> Entry:
    made = Entry(
        id=parse(name),
        feed="bench",
        summary=summary,
        description="Why: as told.",
        day=day,
        start=day,
        end=day + timedelta(days=1),
    )
    return replace(made, **more)  # type: ignore[arg-type]  # fields of an entry


ROUND = entry("round.2026-02-27", date(2026, 2, 27), holds=(EntryId("1a", "bag_look"), EntryId("1b", "bag_look")))
POT_UP = entry("1a.pot_up", date(2026, 3, 20), "Pot up 1a (8)", feed="seasons")
OFFER = entry("fig.offer", date(2026, 3, 1), "Offer", feed="sales")
ENTRIES = (ROUND, OFFER, POT_UP)


def published(
    *entries: Entry,
    previous: Previous = NO_FEED_YET,
    now: datetime = NOW,
    as_of: date = TODAY,
    name: str = "Teasel Yard",
    page: str = "",
) -> Publication:
    return publication(entries, previous, name, NURSERY, now, as_of, page=page)


def read(made: Publication) -> Previous:
    return read_previous(made.feeds["everything"], ZONE)


def lines(data: bytes, name: str) -> list[str]:
    """The values of a property, in file order, parameters included."""
    unfolded = data.replace(b"\r\n ", b"").decode()
    return [line[len(name) :] for line in unfolded.split("\r\n") if re.match(rf"{name}[;:]", line)]


def test_a_feed_says_what_it_is_and_how_often_to_ask_again() -> None:
    for data in published(*ENTRIES).feeds.values():
        # RFC 5545, 3.6 and 3.7: one PRODID, VERSION 2.0; METHOD would make it an invitation.
        assert lines(data, "VERSION") == [":2.0"]
        assert len(lines(data, "PRODID")) == 1
        assert lines(data, "METHOD") == []
        # RFC 7986, 5.7: the value type must be written out. The older twin: [MS-OXCICAL], 2.1.3.1.1.15.
        assert lines(data, "REFRESH-INTERVAL") == [";VALUE=DURATION:PT1H"]
        assert lines(data, "X-PUBLISHED-TTL") == [":PT1H"]
        assert lines(data, "NAME") == lines(data, "X-WR-CALNAME")


def test_an_all_day_entry_is_a_date_and_a_timed_one_is_in_utc() -> None:
    start = datetime(2026, 2, 27, 23, 30, tzinfo=UTC)
    timed = replace(ROUND, start=start, end=start + timedelta(minutes=25))

    data = published(timed, POT_UP).feeds["everything"]

    # RFC 5545, 3.3.4 and 3.3.5 (form 2); 3.6.1: the end is exclusive.
    assert lines(data, "DTSTART") == [":20260227T233000Z", ";VALUE=DATE:20260320"]
    assert lines(data, "DTEND") == [":20260227T235500Z", ";VALUE=DATE:20260321"]


def test_a_new_entry_is_stamped_with_the_moment_it_was_made() -> None:
    # RFC 5545, 3.8.7.2: without a METHOD, DTSTAMP is the moment of the last revision, as LAST-MODIFIED is.
    data = published(POT_UP).feeds["seasons"]

    assert lines(data, "DTSTAMP") == lines(data, "LAST-MODIFIED") == [":20260224T183015Z"]
    seconds = (NOW - datetime(2025, 1, 1, tzinfo=UTC)) // timedelta(seconds=1)
    assert lines(data, "SEQUENCE") == [f":{seconds}"]


def test_what_did_not_change_is_the_bytes_it_was() -> None:
    first = published(*ENTRIES)

    again = published(*ENTRIES, previous=read(first), now=NOW + timedelta(hours=3))

    assert again.feeds == first.feeds
    assert again.for_import == b""


def test_an_entry_that_moves_keeps_its_uid_and_is_newer_in_every_way_phones_look_at() -> None:
    first = published(*ENTRIES)
    later = replace(POT_UP, day=date(2026, 3, 24), start=date(2026, 3, 24), end=date(2026, 3, 25))

    again = published(ROUND, OFFER, later, previous=read(first), now=NOW + timedelta(hours=3))

    old, new = read(first).entries[POT_UP.id], read(again).entries[POT_UP.id]
    assert lines(old.data, "UID") == lines(new.data, "UID")
    assert new.sequence > old.sequence
    assert new.modified > old.modified
    assert [(move.id, move.before, move.after) for move in again.changes.moved] == [
        ("1a.pot_up", date(2026, 3, 20), date(2026, 3, 24))
    ]
    assert read(again).entries[ROUND.id].data == read(first).entries[ROUND.id].data


@pytest.mark.parametrize("passed", [timedelta(0), timedelta(seconds=20), timedelta(days=-2)])
def test_two_changes_at_once_or_a_clock_set_back_still_make_a_newer_entry(passed: timedelta) -> None:
    before = read(published(POT_UP)).entries[POT_UP.id]
    changed = replace(POT_UP, summary="Pot up 1a (7)")

    after = read(published(changed, previous=Previous(entries={POT_UP.id: before}), now=NOW + passed)).entries[
        POT_UP.id
    ]

    assert after.sequence > before.sequence
    assert after.modified > before.modified


def test_a_lost_feed_never_makes_the_sequence_of_an_entry_fall() -> None:
    made, now = published(POT_UP), NOW
    for count in range(1, 30):  # a change every ten minutes through an evening
        now += timedelta(minutes=10)
        made = published(replace(POT_UP, summary=f"Pot up ({count})"), previous=read(made), now=now)

    anew = published(POT_UP, previous=NO_FEED_YET, now=now + timedelta(minutes=10))

    assert read(anew).entries[POT_UP.id].sequence > read(made).entries[POT_UP.id].sequence


def test_what_is_over_stays_as_it_was_for_120_days() -> None:
    first = published(*ENTRIES)

    kept = published(POT_UP, previous=read(first), as_of=date(2026, 6, 27), now=NOW + timedelta(days=123))
    dropped = published(POT_UP, previous=read(first), as_of=date(2026, 6, 28), now=NOW + timedelta(days=124))

    assert read(kept).entries[ROUND.id].data == read(first).entries[ROUND.id].data
    assert ROUND.id not in read(dropped).entries
    assert kept.changes.removed == dropped.changes.removed == ()


def test_an_entry_is_not_over_on_its_own_day() -> None:
    first = published(*ENTRIES)

    on_the_day = published(OFFER, POT_UP, previous=read(first), as_of=ROUND.day)
    the_day_after = published(OFFER, POT_UP, previous=read(first), as_of=ROUND.day + timedelta(days=1))

    assert on_the_day.changes.removed == (ROUND.id,)
    assert the_day_after.changes.removed == ()


def test_each_feed_is_a_selection_of_the_bytes_of_everything() -> None:
    made = published(*ENTRIES)

    whole = made.feeds["everything"]
    for name in ("bench", "seasons", "sales"):
        [event] = re.findall(rb"BEGIN:VEVENT.*?END:VEVENT\r\n", made.feeds[name], re.DOTALL)
        assert event in whole
    assert whole.count(b"BEGIN:VEVENT") == 3


def test_what_is_carried_out_and_in_rings_twice_and_is_carried_over_as_bytes() -> None:
    carried = replace(POT_UP, alarm=timedelta(0), alarm_back=timedelta(hours=9, minutes=45))
    first = published(ROUND, carried)

    again = published(ROUND, carried, previous=read(first), now=NOW + timedelta(days=1))

    [event] = [each for each in entries_in(again.feeds["everything"]) if each.walk("VALARM")]
    assert [alarm.decoded("TRIGGER") for alarm in event.walk("VALARM")] == [carried.alarm, carried.alarm_back]
    assert again.feeds["everything"] == first.feeds["everything"]
    assert carried.digest() != replace(carried, alarm_back=None).digest()


def test_what_changed_is_told_for_import_and_what_went_is_cancelled() -> None:
    ringing = replace(POT_UP, alarm=timedelta(hours=7), description="SEQUENCE:1\nDTSTAMP:1\nEND:VEVENT")
    first = published(ROUND, OFFER, ringing)

    again = published(ROUND, entry("2a.light", date(2026, 3, 3)), previous=read(first), now=NOW + timedelta(days=1))

    told = entries_in(again.for_import)
    events: dict[str, Any] = {str(event["X-STICKDATE-ID"]): event for event in told}
    assert set(events) == {"2a.light", "1a.pot_up", "fig.offer"}
    assert again.changes.removed == ("1a.pot_up", "fig.offer")
    gone = events["1a.pot_up"]
    assert gone["STATUS"] == "CANCELLED"  # RFC 5545, 3.8.1.11
    assert gone["SEQUENCE"] > read(first).entries[POT_UP.id].sequence
    assert gone["DTSTAMP"].dt == gone["LAST-MODIFIED"].dt == NOW.replace(microsecond=0) + timedelta(days=1)
    assert gone["DESCRIPTION"] == ringing.description
    assert gone.subcomponents == []
    assert "1a.pot_up" not in read(again).entries  # a feed itself carries none: what is gone is gone


def test_names_and_notes_of_any_kind_come_through_whole() -> None:
    name = "Obstgärten „Süd“, 北; “the yard”"
    words = "Brogiotto’s 12 × 30 °C\nsecond line; a comma, a back\\slash 🌱 " + "naïve " * 40
    data = published(entry("1a.x", TODAY, "Blätter: 7a — ½", description=words), name=name).feeds["bench"]

    [event] = entries_in(data)
    assert event["SUMMARY"] == "Blätter: 7a — ½"
    assert event["DESCRIPTION"] == words
    for line in data.split(b"\r\n"):
        assert len(line) <= 75  # RFC 5545, 3.1: octets, without the line break
        line.decode()  # no character is cut in two
    assert data.endswith(b"END:VCALENDAR\r\n")
    assert re.search(rb"(?<!\r)\n|\r(?!\n)", data) is None


@given(st.text(max_size=300), st.text(max_size=120))
@pytest.mark.long
@settings(max_examples=examples(150))
def test_no_text_a_grower_can_paste_breaks_a_feed(description: str, summary: str) -> None:
    description, summary = (text.encode("utf-8", "ignore").decode() for text in (description, summary))

    made = published(entry("1a.x", TODAY, summary, description=description), POT_UP)

    data = made.feeds["everything"]
    # RFC 5545, 3.3.11 and 3.1: no control character but the tab and the line breaks.
    assert re.search(rb"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", data) is None
    assert len(entries_in(data)) == 2
    assert set(read(made).entries) == {"1a.x", "1a.pot_up"}
    again = published(
        entry("1a.x", TODAY, summary, description=description), POT_UP, previous=read(made), now=NOW + timedelta(1)
    )
    assert again.feeds == made.feeds


def test_a_feed_cut_short_costs_only_what_was_cut() -> None:
    first = published(*ENTRIES)
    data = first.feeds["everything"]

    for cut in range(0, len(data), 7):
        left = read_previous(data[:cut], ZONE)
        made = published(*ENTRIES, previous=left, now=NOW + timedelta(minutes=5))

        found = read(made).entries
        assert set(found) == {ROUND.id, OFFER.id, POT_UP.id}
        assert all(found[name].data == old.data for name, old in left.entries.items())
        assert all(found[name].sequence >= old.sequence for name, old in read(first).entries.items())


@given(st.data())
@pytest.mark.long
@settings(max_examples=examples(200))
def test_a_damaged_feed_is_read_without_stumbling(data: st.DataObject) -> None:
    whole = bytearray(published(*ENTRIES).feeds["everything"])
    for _ in range(data.draw(st.integers(1, 4))):
        whole[data.draw(st.integers(0, len(whole) - 1))] = data.draw(st.integers(0, 255))

    made = published(*ENTRIES, previous=read_previous(bytes(whole), ZONE))

    assert all(map(is_whole, made.feeds.values()))
    assert {ROUND.id, OFFER.id, POT_UP.id} <= set(read(made).entries)


def test_the_day_of_a_timed_entry_is_that_of_the_nursery() -> None:
    # 03:30 UTC on the 28th is 22:30 on the 27th in New York (UTC-5).
    start = datetime(2026, 2, 28, 3, 30, tzinfo=UTC)
    timed = replace(ROUND, start=start, end=start + timedelta(minutes=25))

    past = read(published(timed)).past(date(2026, 2, 28))

    assert past.rounds == {date(2026, 2, 27): frozenset({"1a.bag_look", "1b.bag_look"})}
    assert past.entries == {ROUND.id: date(2026, 2, 27)}
    assert past.since == date(2026, 2, 27)


def test_a_lack_of_room_in_a_bin_called_round_is_no_visit_to_the_bench() -> None:
    lack = entry("round.bin_full", date(2026, 2, 25), "Bin round: up to 6 bags too many")

    past = read(published(ROUND, lack)).past(TODAY)

    assert set(past.coming) == {ROUND.day}
    assert set(past.holders) == {lack.id}


def test_a_feed_with_nothing_planned_says_so_on_the_day_it_said_so_first() -> None:
    nothing = entry("sales.nothing", TODAY, "Sales: nothing planned", feed="sales")
    tomorrow = TODAY + timedelta(days=1)
    later = replace(nothing, day=tomorrow, start=tomorrow, end=tomorrow + timedelta(days=1))

    again = published(later, previous=read(published(nothing)), as_of=tomorrow)

    assert [each.first for each in read(again).entries.values()] == [TODAY]
    assert not again.changes.moved


ALARMED = replace(POT_UP, id=EntryId("2b", "pot_up"), description="As told, twice.", alarm=-timedelta(minutes=90))
FINE = published(*ENTRIES, ALARMED)


@pytest.mark.parametrize(
    ("written", "instead"),
    [
        (b"SUMMARY:Offer", b"SUMMARY:Often"),  # other words than the digest was made of
        (b"DTSTART;VALUE=DATE:20260301", b"DTSTART;VALUE=DATE:20260228"),
        (b"TRIGGER:-PT1H30M", b"TRIGGER:-PT2H30M"),
        (b"X-STICKDATE-HOLDS:1a.bag_look 1b", b"X-STICKDATE-HOLDS:1a.bag_look 1c"),
        (b"told\\, twice", b"told, twice"),  # a comma that is not escaped: RFC 5545, 3.3.11
        (b"END:VCALENDAR\r\n", b""),
        (b"END:VEVENT\r\nBEGIN:VEVENT", b"BEGIN:VEVENT"),
        (b"END:VALARM\r\n", b""),
        (b"TRANSP:TRANSPARENT\r\n", b"TRANSP:TRANSPARENT\n"),
        (b"TRANSP:", b"X-NOTE:" + b"x" * 70 + b"\r\nTRANSP:"),  # 77 octets: RFC 5545, 3.1
        (b"TRANSP:", b"X-NOTE:\xff\r\nTRANSP:"),
        (b"TRANSP:", b"X-NOTE:\x07\r\nTRANSP:"),
        (b"TRANSP:", b"SEQUENCE:1\r\nTRANSP:"),
        (b"SEQUENCE:", b"SEQUENCE:99"),  # beyond an integer: RFC 5545, 3.3.8
        (b"LAST-MODIFIED:2026", b"LAST-MODIFIED:9999"),
        (b"NAME:Teasel Yard\r\nX", b"X"),
        (b"BEGIN:VEVENT", b"nonsense\r\nBEGIN:VTODO\r\nEND:VTODO\r\nBEGIN:VEVENT"),
    ],
)
def test_a_feed_that_is_not_whole_is_known_and_nothing_spoilt_is_carried_over(written: bytes, instead: bytes) -> None:
    fine = FINE.feeds["everything"]
    spoilt = fine.replace(written, instead, 1)
    assert spoilt != fine

    left = read_previous(spoilt, ZONE).entries

    assert is_whole(fine)
    assert not is_whole(spoilt)
    assert {entry.data for entry in left.values()} <= {entry.data for entry in read(FINE).entries.values()}


def test_an_entry_that_stands_twice_makes_no_whole_feed() -> None:
    once = next(events(FINE.feeds["sales"]))

    assert is_whole(FINE.feeds["sales"])
    assert not is_whole(FINE.feeds["sales"].replace(once, once + once))
    assert not is_whole(FINE.feeds["sales"].replace(once, b""))


def test_an_entry_of_another_nursery_is_not_carried_over() -> None:
    feed = FINE.feeds["everything"]

    assert read_previous(feed, ZONE, NURSERY).entries.keys() == read(FINE).entries.keys()
    assert read_previous(feed, ZONE, NURSERY.replace("5d", "5e")).entries == {}


def test_of_an_entry_that_several_copies_hold_the_newest_counts() -> None:
    newer = published(POT_UP, OFFER, previous=read(FINE), now=NOW + timedelta(days=1), name="x")
    changed = published(replace(POT_UP, summary="Pot up"), OFFER, previous=read(newer), now=NOW + timedelta(days=1))

    for one, other in ((FINE, changed), (changed, FINE)):
        merged = read_previous(one.feeds["everything"], ZONE, copies=[other.feeds["seasons"], b"nonsense"]).entries
        assert merged[POT_UP.id] == read(changed).entries[POT_UP.id]
        assert merged[OFFER.id] == read(FINE).entries[OFFER.id]


def test_an_entry_of_today_is_not_over_for_the_plan() -> None:
    on_the_day = read(FINE).past(ROUND.day)

    assert on_the_day.entries == {}
    assert set(on_the_day.coming) == {ROUND.day}
    assert ROUND.id in read(FINE).past(ROUND.day + timedelta(days=1)).entries


def test_a_round_that_ends_after_midnight_is_over_by_the_day_it_began() -> None:
    start = datetime(2026, 2, 28, 4, 30, tzinfo=UTC)  # 23:30 on the 27th in New York
    first = published(replace(ROUND, start=start, end=start + timedelta(hours=2)))

    again = published(previous=read(first), as_of=date(2026, 2, 28), now=NOW + timedelta(days=4))

    assert read(again).entries[ROUND.id].data == read(first).entries[ROUND.id].data
    assert read(first).past(date(2026, 2, 28)).entries == {ROUND.id: ROUND.day}


def test_an_entry_that_leads_elsewhere_has_a_new_stamp_and_one_that_is_over_leads_where_it_did() -> None:
    first = published(*(replace(each, url="http://shed.local/") for each in ENTRIES), page="http://shed.local/")
    entries = [replace(each, url="http://barn.local/") for each in ENTRIES]

    again = published(*entries, previous=read(first), as_of=date(2026, 2, 28), now=NOW + timedelta(days=4))

    before, after = read(first).entries, read(again).entries
    assert read(first).page == "http://shed.local/"
    assert after[ROUND.id].data == before[ROUND.id].data
    for name in (OFFER.id, POT_UP.id):
        assert after[name].url == "http://barn.local/"
        assert after[name].sequence > before[name].sequence


def test_the_name_of_a_calendar_is_escaped_as_text() -> None:
    # RFC 7986, 5.1: TEXT, and so RFC 5545, 3.3.11.
    assert lines(published(POT_UP, name="Yard, the; old\\one\nEND:VCALENDAR").feeds["everything"], "NAME") == [
        ":Yard\\, the\\; old\\\\one END:VCALENDAR"
    ]


@pytest.mark.parametrize("name", ["Teasel Yard", "Weir, Lane; and \\ more", "Höfe am Bach " * 9])
def test_a_head_that_says_the_same_already_is_kept_and_any_other_is_made_by_the_library(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = published(*ENTRIES, name=name, page="http://10.0.0.7:8000/")
    everything, *copies = first.feeds.values()

    def again(name: str, *feeds: bytes) -> Publication:
        before = read_previous(feeds[0], ZONE, copies=feeds[1:])
        return published(*ENTRIES, previous=before, name=name, page="http://10.0.0.7:8000/")

    doubled = everything.replace(b"VERSION:2.0\r\n", b"VERSION:2.0\r\nVERSION:2.0\r\n", 1)
    assert again(name, doubled, *copies).feeds == first.feeds
    assert again(name, everything.replace(b"PT1H", b"PT9H"), *copies).feeds == first.feeds
    assert (
        again("Elsewhere", everything, *copies).feeds
        == published(*ENTRIES, name="Elsewhere", page="http://10.0.0.7:8000/").feeds
    )
    monkeypatch.setitem(sys.modules, "icalendar", None)  # it cannot be imported any more
    assert again(name, everything, *copies).feeds == first.feeds
    with pytest.raises(ImportError):
        again("Elsewhere", everything, *copies)
