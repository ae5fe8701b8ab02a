"""The feed read back by the standard's rules: whole days, stable names, hostile text harmless."""

from datetime import UTC, date, datetime

from icalendar import Calendar, Event

from seedbank.common.answers import FindingAnswer, VarietyBrief
from seedbank.science.quantities import Finding
from seedbank.season.answers import Coming, ComingDate, ComingDatesAnswer
from seedbank.season.pages.dates import draw_calendar

MADE = datetime(2027, 2, 1, 9, 30, tzinfo=UTC)
HOSTILE = "Zoë, \r\nBEGIN:VEVENT\r\n;\\ 🥕 \x00" + "Żółć 豆 " * 30
BASE = "http://192.168.1.20:8000"


def said(text: str) -> FindingAnswer:
    return FindingAnswer.of(Finding("as-said", {"text": text}))


def coming(
    title: str = "Final count: Purple Lantern",
    reason: str = "Test 130 was set, on 9 Feb; 12 aren't judged.",
    **more: object,
) -> ComingDate:
    return ComingDate.model_validate(
        {
            "name": "final-count-130", "on": date(2027, 3, 28), "coming": Coming.FINAL_COUNT,
            "title": said(title), "reason": said(reason),
            "variety": VarietyBrief(id=1, name="Purple Lantern", kind="carrot"), "lot": "4K7PM",
            "test": 130, "changed_at": MADE, "revision": 2, **more,
        }
    )  # fmt: skip


def feed(*items: ComingDate) -> bytes:
    return draw_calendar(
        ComingDatesAnswer(on=date(2027, 2, 20), items=list(items), remarks=[]), BASE
    )


def events(data: bytes) -> list[Event]:
    return list(Calendar.from_ical(data).walk("VEVENT"))


def test_an_event_is_a_whole_day_with_its_reason_and_a_way_to_its_page() -> None:
    event = events(feed(coming()))[0]
    assert event.decoded("dtstart") == date(2027, 3, 28)  # a date: no hour, no zone
    assert event["dtstart"].params["VALUE"] == "DATE"
    assert "dtend" not in event
    assert event["description"].startswith("Test 130 was set, on 9 Feb; 12 aren't judged.\n")
    assert event["url"] == f"{BASE}/test/130"
    assert event["description"].endswith(f"{BASE}/test/130")
    assert (event["uid"], event["sequence"]) == ("final-count-130@seedbank", 2)
    assert event.decoded("dtstamp") == MADE


def test_a_day_that_moves_keeps_its_name_and_the_feed_is_the_same_again() -> None:
    before, after = coming(), coming(on=date(2027, 4, 1))
    assert events(feed(before))[0]["uid"] == events(feed(after))[0]["uid"]
    assert feed(before) == feed(before)


def test_each_kind_of_day_leads_to_its_own_page() -> None:
    lot = coming(test=None, coming=Coming.RETEST)
    crop = coming(test=None, seed_crop=7, coming=Coming.HARVEST)
    stop = coming(test=None, lot=None, variety=None, coming=Coming.STOP_FLOWERING)
    found = [event["url"].removeprefix(BASE) for event in events(feed(lot, crop, stop))]
    assert found == ["/lot/4K7PM", "/season#seed-crop-7", "/season"]


def test_hostile_text_makes_no_event_of_its_own_and_comes_back_whole() -> None:
    data = feed(coming(HOSTILE, reason=HOSTILE))
    found = events(data)
    assert len(found) == 1
    assert data.count(b"\r\nBEGIN:VEVENT\r\n") == 1
    assert str(found[0]["summary"]).startswith("Zoë, BEGIN:VEVENT ;\\ 🥕 Żółć 豆")
    assert str(found[0]["summary"]).count("Żółć 豆") == 30


def test_lines_end_as_the_standard_says_and_none_is_over_75_octets() -> None:
    # RFC 5545, 3.1: lines are delimited by CRLF and folded at 75 octets.
    data = feed(coming(HOSTILE, reason=HOSTILE))
    assert data.endswith(b"END:VCALENDAR\r\n")
    lines = data.split(b"\r\n")
    assert max(map(len, lines)) <= 75
    assert not any(b"\n" in line or b"\r" in line for line in lines)
    for line in lines:
        line.decode("utf-8")  # no letter is cut in two by a fold


def test_what_the_standard_asks_of_a_calendar_is_there() -> None:
    # RFC 5545, 3.6 and 3.6.1: PRODID and VERSION once; UID and DTSTAMP in each event.
    calendar = Calendar.from_ical(feed(coming(), coming(name="retest-4K7PM")))
    assert (calendar["version"], bool(calendar["prodid"])) == ("2.0", True)
    assert all("uid" in event and "dtstamp" in event for event in calendar.walk("VEVENT"))
    assert Calendar.from_ical(feed()).walk("VEVENT") == []
