"""The feed of pick-ups against RFC 5545, "Internet Calendaring and Scheduling (iCalendar)".

The rules are cited by their sections; they are checked here by hand, and the text is read back with
the icalendar library.
"""

from __future__ import annotations

import re
from datetime import datetime, timedelta

import pytest
from icalendar import Calendar
from wished import line, order

from collop.errors import NotFound

TUESDAY = datetime(2026, 6, 9, 8)  # noqa: DTZ001 -- shop-local


def lines_of(feed):
    """Return the content lines, unfolded (RFC 5545, 3.1)."""
    return (
        feed.decode().replace("\r\n ", "").replace("\r\n\t", "").removesuffix("\r\n").split("\r\n")
    )


def events_of(feed):
    found = Calendar.from_ical(feed)
    return {str(one["SUMMARY"]).partition(" ")[0]: one for one in found.walk("VEVENT")}


def test_every_line_ends_in_crlf_and_is_no_longer_than_75_octets(shop):
    """RFC 5545, 3.1: lines of text delimited by CRLF, not longer than 75 octets without it."""
    shop.book(order(line("C33", "1.0"), name="Kärntner Grüße " * 7), key="k")
    feed = shop.promising.calendar()
    assert feed.endswith(b"\r\n")
    assert b"\n" not in feed.replace(b"\r\n", b"")
    assert b"\r" not in feed.replace(b"\r\n", b"")
    folded = feed.split(b"\r\n")
    assert max(len(one) for one in folded) <= 75
    assert any(one.startswith(b" ") for one in folded)
    for one in folded:
        one.decode()  # folded between characters, never inside one


def test_the_calendar_has_what_it_must(shop):
    """RFC 5545, 3.4 and 3.6: one VCALENDAR, with VERSION 2.0 and PRODID once each."""
    found = lines_of(shop.promising.calendar())
    assert (found[0], found[-1]) == ("BEGIN:VCALENDAR", "END:VCALENDAR")
    assert found.count("VERSION:2.0") == 1
    assert len([one for one in found if one.startswith("PRODID:")]) == 1
    depth = 0
    for one in found:
        depth += one.startswith("BEGIN:") - one.startswith("END:")
        assert depth >= 0
    assert depth == 0


def test_every_event_has_uid_dtstamp_and_dtstart_once(shop):
    """RFC 5545, 3.6.1: UID and DTSTAMP are required, once; DTSTART where there is no METHOD."""
    found = lines_of(shop.promising.calendar())
    events = "\n".join(found).split("BEGIN:VEVENT")[1:]
    assert len(events) == 9
    uids = set()
    for one in events:
        names = re.findall(r"^([A-Z-]+)[;:]", one.partition("END:VEVENT")[0], re.MULTILINE)
        for name in ("UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "STATUS", "SEQUENCE"):
            assert names.count(name) == 1
        # 3.8.7.2: in UTC; 3.3.5, form 1: floating local time, neither Z nor TZID
        assert re.search(r"^DTSTAMP:\d{8}T\d{6}Z$", one, re.MULTILINE)
        assert re.search(r"^DTSTART:\d{8}T\d{6}$", one, re.MULTILINE)
        # 3.8.1.11: statuses of an event
        assert re.search(r"^STATUS:(TENTATIVE|CONFIRMED|CANCELLED)$", one, re.MULTILINE)
        uids |= set(re.findall(r"^UID:(.+)$", one, re.MULTILINE))
    assert len(uids) == 9


def test_text_is_escaped_as_written_in_3_3_11(shop):
    """RFC 5545, 3.3.11: backslash, semicolon, comma and new line are escaped in TEXT."""
    shop.book(order(line("C33", "1.0"), name="Smith; Sons, \\ Co"), key="k")
    found = lines_of(shop.promising.calendar())
    assert any(r"Smith\; Sons\, \\ Co" in one for one in found if one.startswith("SUMMARY"))
    read = [
        one for one in events_of(shop.promising.calendar()).values() if "Smith" in one["SUMMARY"]
    ]
    assert str(read[0]["SUMMARY"]).endswith("Smith; Sons, \\ Co")


def test_control_signs_of_a_name_are_not_in_the_text(shop):
    """RFC 5545, 3.3.11 and 3.1: TEXT holds no control signs, and a name never begins a line."""
    name = "Smith\rBEGIN:VEVENT\x07\x1f\u2028x"
    shop.book(order(line("C33", "1.0"), name=name), key="k")
    feed = shop.promising.calendar().decode()
    own = next(one for one in lines_of(feed.encode()) if "Smith" in one)
    assert own.endswith("Smith BEGIN:VEVENT   x")
    assert not re.search(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", feed)
    assert len([one for one in lines_of(feed.encode()) if one == "BEGIN:VEVENT"]) == 10


def test_pick_ups_read_back_as_they_hang(shop):
    """H2: Friday 16:00, a quarter of an hour, its heads, its lines; H10 is asked."""
    events = events_of(shop.promising.calendar())
    assert set(events) == {one.id for one in shop.bookings(TUESDAY.date(), TUESDAY.date()
                                                            + timedelta(days=9))}  # fmt: skip
    rowing = events["H2"]
    assert str(rowing["SUMMARY"]) == "H2 Rowing-club cookout, 34"
    start = rowing["DTSTART"].dt
    assert start == datetime(2026, 6, 12, 16)  # noqa: DTZ001 -- floating
    assert rowing["DTEND"].dt - start == timedelta(minutes=15)
    assert "Pork shoulder steaks: 6.00 lb" in str(rowing["DESCRIPTION"]).splitlines()
    assert "2.20 lb to come" in str(events["H4"]["DESCRIPTION"])
    assert (str(rowing["STATUS"]), str(events["H10"]["STATUS"])) == ("CONFIRMED", "TENTATIVE")


def test_a_change_keeps_the_uid_and_raises_the_sequence(shop, clock):
    """RFC 5545, 3.8.4.7 and 3.8.7.4: the same UID, a higher SEQUENCE; off is CANCELLED."""
    before = events_of(shop.promising.calendar())["H2"]
    clock.put(TUESDAY + timedelta(minutes=5))
    shop.release("H2", by="dot", key="r", why="rain")
    after = events_of(shop.promising.calendar())["H2"]
    assert after["UID"] == before["UID"]
    assert (before["SEQUENCE"], after["SEQUENCE"]) == (0, 1)
    assert str(after["STATUS"]) == "CANCELLED"
    assert after["DTSTAMP"].dt > before["DTSTAMP"].dt
    shop.undo("H2", by="dot", key="u")
    again = events_of(shop.promising.calendar())["H2"]
    assert (again["SEQUENCE"], str(again["STATUS"])) == (2, "CONFIRMED")


def test_no_telephone_and_no_note_leaves_the_shop(shop):
    """Ends of numbers and what is written in notes are not in the text."""
    told = order(line("C33", "1.0"), phone_end="07700 900 4471", note="ring 07700 900 4471")
    shop.book(told, key="k")
    feed = shop.promising.calendar().decode()
    assert "4471" not in feed
    assert "0134" not in feed  # the rowing club's


def test_what_has_gone_and_sales_at_the_glass_are_not_in_it(shop):
    """Only what hangs, or was to hang."""
    booking = shop.booking("H8")
    shop.hand_over("H8", {one.id: one.weight for one in booking.lines}, by="dot", key="h")
    assert "H8" not in events_of(shop.promising.calendar())


def test_a_new_address_ends_the_old(shop):
    """The token is long, random, and the newest alone finds the feed."""
    assert shop.promising.feed_token() is None
    with pytest.raises(NotFound, match="no such calendar"):
        shop.promising.feed("")
    first = shop.promising.new_feed(by="ines", key="a")
    assert shop.promising.new_feed(by="ines", key="a") == first == shop.promising.feed_token()
    assert shop.promising.feed(first) == shop.promising.calendar()
    second = shop.promising.new_feed(by="ines", key="b")
    assert second != first
    assert min(len(first), len(second)) >= 32
    with pytest.raises(NotFound):
        shop.promising.feed(first)
    assert shop.promising.feed(second).startswith(b"BEGIN:VCALENDAR")
    for wrong in (second[:-1], second + "x", "x" * 5000, "\u00e9", "\ud800"):
        with pytest.raises(NotFound):
            shop.promising.feed(wrong)
