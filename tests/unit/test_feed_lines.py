"""The feeds' lines, byte for byte as an independent writer of RFC 5545 has them (the library `icalendar`)."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

from hypothesis import example, given
from hypothesis import strategies as st
from icalendar import Alarm, Calendar, Event, vText

from almanac.feed.entry import CATEGORY, Entry, plain
from almanac.feed.previous import AS_OF, CAUTIONS, PAGE
from almanac.feed.publish import event, feeds_of
from almanac.feed.whole import DIGEST, HOLDS, ID
from almanac.plan.ids import EntryId

NOW = datetime(2026, 2, 24, 18, 30, 15, tzinfo=UTC)
TEXTS = st.text(st.characters(codec="utf-8") | st.sampled_from("\\^;,:n\n\r\té€🌱 "), max_size=400)
DAYS = st.dates(date(2020, 1, 1), date(2040, 1, 1))
MOMENTS = st.datetimes(datetime(2020, 1, 1), datetime(2040, 1, 1), timezones=st.just(UTC))
LENGTHS = st.timedeltas(timedelta(days=-9), timedelta(days=9)).map(lambda at: timedelta(at.days, at.seconds))


def by_library(entry: Entry, uid: str) -> bytes:
    """The entry as the library writes it."""
    made: Any = Event()
    for name, value in (
        ("summary", plain(entry.summary)),
        ("dtstart", entry.start),
        ("dtend", entry.end),
        ("dtstamp", NOW),
        ("uid", uid),
        ("sequence", int((NOW - datetime(2025, 1, 1, tzinfo=UTC)).total_seconds())),
        ("last-modified", NOW),
        ("description", plain(entry.description)),
        ("categories", [CATEGORY[entry.feed]]),
        ("transp", "TRANSPARENT"),
        ("url", entry.url),
        (ID, entry.id),
        (DIGEST, entry.digest()),
        (HOLDS, " ".join(entry.holds)),
        (CAUTIONS, " ".join(entry.cautions)),
    ):
        if value:
            made.add(name, value)
    for rings in (each for each in (entry.alarm, entry.alarm_back) if each is not None):
        alarm: Any = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", plain(entry.summary))
        alarm.add("trigger", rings)
        made.add_component(alarm)
    data: bytes = made.to_ical()
    return data


@given(
    said=st.tuples(TEXTS.filter(bool), TEXTS),
    span=st.tuples(DAYS, DAYS) | st.tuples(MOMENTS, MOMENTS),
    alarms=st.tuples(st.none() | LENGTHS, st.none() | LENGTHS),
    more=st.booleans(),
)
@example(said=("x" * 66 + "\\" * 3, "a" * 61 + ",^" * 80), span=(NOW, NOW), alarms=(timedelta(), None), more=True)
def test_an_entry_is_written_as_an_independent_writer_has_it(
    said: tuple[str, str], span: tuple[date, date], alarms: tuple[timedelta | None, timedelta | None], more: bool
) -> None:
    entry = Entry(
        id=EntryId("7a", "bag_look"),
        feed="bench",
        summary=said[0],
        description=said[1] or "Why: as told.",
        day=date(2026, 2, 27),
        start=span[0],
        end=span[1],
        holds=(EntryId("1a", "bag_look"), EntryId("1b", "bag_look")) * 9 if more else (),
        alarm=alarms[0],
        cautions=("bleach", "electricity") if more else (),
        url="http://shed.local:8321/" + "x" * 90 + "/?a=1;b=2,3" if more else "",
        alarm_back=alarms[1],
    )

    assert event(entry, "28b7e395", NOW, None) == by_library(entry, "28b7e395")


@given(name=TEXTS, page=st.just("") | st.from_regex(r"https?://[!-~]{1,200}", fullmatch=True))
@example(name="", page="http://shed.local:8321/k/")
def test_the_head_of_a_feed_is_written_as_an_independent_writer_has_it(name: str, page: str) -> None:
    found = feeds_of([], name, {AS_OF: "2026-02-24", PAGE: page})["everything"]

    named = " ".join(plain(name).split()) or "Stickdate"
    calendar: Any = Calendar()
    calendar.add("prodid", "-//stickdate//almanac//EN")
    calendar.add("version", "2.0")
    calendar.add("name", vText(named))
    calendar.add("x-wr-calname", named.translate(str.maketrans("\\,;", "   ")))
    calendar.add("refresh-interval", timedelta(hours=1), parameters={"VALUE": "DURATION"})
    calendar.add("x-published-ttl", "PT1H")
    calendar.add(AS_OF, "2026-02-24")
    if page:
        calendar.add(PAGE, page)
    assert found == calendar.to_ical()
