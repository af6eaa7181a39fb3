"""Promising: what is free by a date, booking for it, reminders, and the feed of pick-ups."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from collop.measures import Weight, WeightUnit
from collop.shop.acts import Room
from collop.shop.calendar_feed import calendar_of, feed_with, keep_feed, newest_token
from collop.shop.model import Booking, NewBooking
from collop.shop.promising_booking import book_for, set_aside, waiting_now, would_take
from collop.shop.promising_model import (
    ComesTo,
    FreeBy,
    PromiseAnswer,
    Reminder,
    SetAside,
    Waiting,
)
from collop.shop.promising_money import comes_to
from collop.shop.promising_outlook import load_outlook
from collop.shop.promising_words import answer_for, checked_day
from collop.shop.reminders import reminders_of
from collop.shop.sent_before import booked_under
from collop.shop.settings import load_settings

__all__ = ["PromisingRoom"]


class PromisingRoom:
    """What may be promised for a date. Reached as `Shop.promising`.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room

    def free_by(self, day: date, case_id: str | None = None) -> tuple[FreeBy, ...]:
        """Return what may be promised of each line for a day, in board order.

        Parameters
        ----------
        day : date
            From today to a year ahead.
        case_id : str, optional
            One line alone.

        Raises
        ------
        BadValue
            If the day is over or too far ahead.
        NotFound
            If there is no such line.
        """
        now = self._room.clock.now()
        checked_day(day, now.date())
        with self._room.store.read() as conn:
            look = load_outlook(conn, now, load_settings(conn))
            if case_id is not None:
                look.line(case_id)
                return (look.free_by(case_id, day),)
            return tuple(look.free_by(one, day) for one in look.lines)

    def answer(
        self, day: date, case_id: str, weight: Weight, *, unit: WeightUnit | None = None
    ) -> PromiseAnswer:
        """Answer a wish in one or two sentences; see `promising_words.answer_for`.

        Weights in what is said are in `unit`, by default the shop's legal one.
        """
        now = self._room.clock.now()
        with self._room.store.read() as conn:
            look = load_outlook(conn, now, load_settings(conn))
            return answer_for(look, case_id, day, weight, unit)

    def book(
        self, new: NewBooking, *, key: str, quote_id: str | None = None,
        accept_new_price: bool = False,
    ) -> Booking:  # fmt: skip
        """Book an order for its date; see `promising_booking.book_for`."""
        return book_for(self._room, new, key=key, quote_id=quote_id,
                        accept_new_price=accept_new_price)  # fmt: skip

    def booked_under(self, key: str) -> Booking | None:
        """Return the booking made under a key; see `sent_before.booked_under`."""
        return booked_under(self._room, key)

    def waiting(self) -> tuple[Waiting, ...]:
        """Return what lies in the case unpromised and is wanted by a booking, soonest first."""
        now = self._room.clock.now()
        with self._room.store.read() as conn:
            return waiting_now(conn, load_outlook(conn, now, load_settings(conn), coming={}))

    def comes_to(self, booking: str) -> ComesTo | None:
        """Return what a booking comes to with what is still to come, or None if nothing is.

        Raises
        ------
        NotFound
            If there is no such booking.
        """
        today = self._room.clock.now().date()
        with self._room.store.read() as conn:
            return comes_to(conn, booking, load_settings(conn), today)

    def would_take(self, lines: Iterable[tuple[str, Weight]]) -> tuple[str, ...]:
        """Tell which orders wait for what a sale or a booking of `lines` would take.

        Parameters
        ----------
        lines : iterable of (str, Weight)
            Case line and weight.

        Returns
        -------
        tuple of str
            One sentence for each order and line, for the shop and not for the customer.
        """
        now = self._room.clock.now()
        with self._room.store.read() as conn:
            look = load_outlook(conn, now, load_settings(conn), coming={})
            return would_take(conn, look, lines)

    def set_aside(
        self, *, by: str, key: str, case_id: str | None = None
    ) -> tuple[SetAside, ...]:  # fmt: skip
        """Reserve what came in for the bookings that want it; see `promising_booking.set_aside`."""
        return set_aside(self._room, by=by, key=key, case_id=case_id)

    def reminders(self, day: date | None = None) -> tuple[Reminder, ...]:
        """Return what to tell about pick-ups of a day, by default today, and the next open one.

        Raises
        ------
        BadValue
            If the day is over or too far ahead.
        """
        now = self._room.clock.now()
        wanted = checked_day(day or now.date(), now.date())
        with self._room.store.read() as conn:
            return reminders_of(conn, now, wanted, load_settings(conn))

    def feed_token(self) -> str | None:
        """Return the token of the feed of pick-ups, or None if none was made yet."""
        with self._room.store.read() as conn:
            return newest_token(conn)

    def new_feed(self, *, by: str, key: str) -> str:
        """Make a new token for the feed; the one before it finds nothing any more."""
        return keep_feed(self._room, by=by, key=key)

    def feed(self, token: str) -> bytes:
        """Return the feed of pick-ups as iCalendar text, or raise `NotFound` for another token."""
        now = self._room.clock.now()
        with self._room.store.read() as conn:
            return feed_with(conn, token, now, load_settings(conn))

    def calendar(self) -> bytes:
        """Return the pick-ups as iCalendar text."""
        now = self._room.clock.now()
        with self._room.store.read() as conn:
            return calendar_of(conn, now, load_settings(conn))
