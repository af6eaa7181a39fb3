"""The feed of pick-ups: iCalendar text by RFC 5545, found by a token alone.

Times are floating, DATE-TIME form 1 of RFC 5545 section 3.3.5: the shop's clock has no zone, and a
pick-up at 16:00 is at 16:00 on the wall of the shop, wherever the calendar is looked at. Only
DTSTAMP must be in UTC (section 3.8.7.2): it is the hour of the last event, by the zone of this
machine.

What customers wrote, and the ends of their telephone numbers, stay in the shop.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta

from icalendar import Calendar, Event
from sqlalchemy import insert, select
from sqlalchemy.engine import Connection

from collop.errors import NotFound
from collop.shop.acts import Act, Room, once
from collop.shop.bench_wants import load_wants
from collop.shop.hook import bookings_between
from collop.shop.model import Booking, Settings, State
from collop.shop.quotes import number_in
from collop.shop.tables import bookings
from collop.shop.week_tables import feeds

__all__ = ["calendar_of", "feed_with", "keep_feed", "newest_token"]

_WHAT = "pick-ups"
_BACK = timedelta(days=14)
_AHEAD = timedelta(days=366)
_LASTS = timedelta(minutes=15)


def newest_token(conn: Connection) -> str | None:
    """Return the token that counts, or None if none was made yet."""
    query = select(feeds.c.token).where(feeds.c.what == _WHAT).order_by(feeds.c.seq.desc())
    found = conn.scalar(query.limit(1))
    return None if found is None else str(found)


def keep_feed(room: Room, *, by: str, key: str) -> str:
    """Make a new token, which ends the one before it, and return it."""

    def work(act: Act) -> str:
        token = secrets.token_urlsafe(24)
        act.conn.execute(
            insert(feeds).values(what=_WHAT, token=token, at=act.at, by_id=act.by, key=act.key)
        )
        return token

    return once(room, "feed", _WHAT, by=by, key=key, work=work)


def feed_with(conn: Connection, token: str, now: datetime, chosen: Settings) -> bytes:
    """Return the feed for a token.

    Raises
    ------
    NotFound
        If it is not the newest token, or there is none.
    """
    known = newest_token(conn)
    if known is None or not hmac.compare_digest(known.encode(), token.encode(errors="replace")):
        raise NotFound("There is no such calendar; ask the shop for its address.", where="token")
    return calendar_of(conn, now, chosen)


def calendar_of(conn: Connection, now: datetime, chosen: Settings) -> bytes:
    """Return pick-ups from a fortnight ago on: those that hang, and those off as cancelled.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    now : datetime
        Shop-local.
    chosen : Settings
        Of the shop.

    Returns
    -------
    bytes
        UTF-8, lines of at most 75 octets that end in CRLF.
    """
    feed = Calendar()
    feed.add("prodid", "-//collop//pick-ups//EN")
    feed.add("version", "2.0")
    feed.add("calscale", "GREGORIAN")
    feed.add("name", _text(f"{chosen.name}: pick-ups"))
    today = now.date()
    found = [
        one for one in bookings_between(conn, today - _BACK, today + _AHEAD, chosen)
        if one.state is not State.GONE
    ]  # fmt: skip
    keys = _keys(conn, found)
    to_come: dict[str, list[str]] = {}
    for want in load_wants(conn, chosen):
        if want.left:
            words = _text(f"{want.case_name}: {want.left.text()} to come")
            to_come.setdefault(want.booking_id, []).append(words)
    for one in found:
        feed.add_component(_event(one, keys[one.id], to_come.get(one.id, [])))
    return bytes(feed.to_ical())


def _keys(conn: Connection, found: list[Booking]) -> Mapping[str, str]:
    """Return a text for each booking that no other shop has, and that never changes."""
    numbers = [number_in("H", one.id, "booking") for one in found]
    rows = conn.execute(
        select(bookings.c.number, bookings.c.key, bookings.c.made_at)
        .where(bookings.c.number.in_(numbers))
    )  # fmt: skip
    return {
        f"H{row.number}": hashlib.sha256(f"{row.key} {row.made_at}".encode()).hexdigest()[:20]
        for row in rows
    }


def _text(words: str) -> str:
    """Return words on one line without control signs, which TEXT may not hold (section 3.3.11)."""
    return "".join(sign if sign.isprintable() else " " for sign in words)


def _event(booking: Booking, own: str, to_come: list[str]) -> Event:
    event = Event()
    event.add("uid", f"{booking.id.lower()}-{own}@collop")
    last = booking.events[-1].at
    event.add("dtstamp", last.astimezone(UTC))
    event.add("dtstart", booking.collect_at)
    event.add("dtend", booking.collect_at + _LASTS)
    event.add("sequence", len(booking.events) - 1)
    heads = f", {booking.heads}" if booking.heads else ""
    event.add("summary", _text(f"{booking.id} {booking.name}{heads}"))
    lines = [_text(f"{line.name}: {line.weight.text()}") for line in booking.lines]
    event.add("description", "\n".join([*lines, *to_come]) or "nothing of the case")
    event.add("status", "CANCELLED" if booking.state is State.OFF else "CONFIRMED")
    if booking.state is State.ASKED:
        event["status"] = "TENTATIVE"
    return event
