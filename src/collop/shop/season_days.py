"""Days beside the usual ones: one opened before a feast, one shut, with who is booked on it."""

from __future__ import annotations

from datetime import date, timedelta

from sqlalchemy.engine import Connection

from collop.errors import BadValue, WrongState
from collop.shop.acts import Act
from collop.shop.hook import bookings_between
from collop.shop.model import Booking, Settings
from collop.shop.settings_change import write_settings

__all__ = ["booked_on", "set_day"]

_FURTHEST = timedelta(days=366)


def _words(day: date) -> str:
    return f"{day:%A} {day.day} {day:%B}"


def set_day(act: Act, day: date, *, is_open: bool, why: str) -> str:
    """Open a day that is shut, or shut one that is open; returns it as ISO text.

    Bookings of a day that is shut stay as they are: whoever shuts it calls them.

    Raises
    ------
    BadValue
        If the day is over or over a year ahead, or no reason is given.
    WrongState
        If it is so already.
    """
    today = act.at.date()
    if not today <= day <= today + _FURTHEST:
        raise BadValue("Day: choose one from today to a year ahead.", where="day")
    if not why.strip():
        raise BadValue("Say why; a word or two will do.", where="why")
    chosen = act.settings
    if chosen.is_open(day) is is_open:
        state = "open" if is_open else "shut"
        raise WrongState(f"{_words(day)} is {state} already.", where="day")
    opened, closed = set(chosen.opened_dates) - {day}, set(chosen.closed_dates) - {day}
    if is_open and day.weekday() not in chosen.open_days:
        opened.add(day)
    # a day that was opened beside the usual ones is shut by taking it from that list
    if not is_open and day.weekday() in chosen.open_days:
        closed.add(day)
    write_settings(act, {"opened_dates": sorted(opened), "closed_dates": sorted(closed)}, why)
    return day.isoformat()


def booked_on(conn: Connection, day: date, chosen: Settings) -> tuple[Booking, ...]:
    """Return the bookings that are collected on a day and hang still."""
    return tuple(one for one in bookings_between(conn, day, day, chosen) if one.state.holds)
