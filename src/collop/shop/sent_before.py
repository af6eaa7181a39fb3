"""A booking form that is sent again because its answer was lost on the way."""

from __future__ import annotations

from sqlalchemy import select

from collop.shop.acts import Room
from collop.shop.hook import load_booking
from collop.shop.model import Booking
from collop.shop.quotes import number_in
from collop.shop.settings import load_settings
from collop.shop.tables import acts

__all__ = ["booked_under"]

_BOOKS = ("book", "book for")


def booked_under(room: Room, key: str) -> Booking | None:
    """Return the booking that was made under a key, or None if none was.

    A form is read against the stock of now, so what was booked under its key may stand in its own
    way when it comes a second time. Whoever asks compares the booking with the form first.
    """
    with room.store.read() as conn:
        made = conn.scalar(select(acts.c.answer).where(acts.c.key == key, acts.c.kind.in_(_BOOKS)))
        if made is None:
            return None
        return load_booking(conn, number_in("H", made, "booking"), load_settings(conn))
