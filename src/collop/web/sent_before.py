"""A booking form sent again: the booking it made, if it is the same form."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from collop.errors import BadValue
from collop.measures import WeightUnit
from collop.measures.weight import parse_weight
from collop.web.forms import Fields, read_name, read_phone_end

if TYPE_CHECKING:
    from collop.shop import Booking, BookingLine
    from collop.web.room import Room

__all__ = ["made_before"]


def made_before(
    room: Room, fields: Fields, wished: Mapping[str, str], unit: WeightUnit
) -> Booking | None:
    """Return the booking that this very form made when it was first sent, or None.

    Parameters
    ----------
    room : Room
        Of the shop.
    fields : Fields
        As sent: ``key``, ``name``, ``phone``, ``day``, ``time``.
    wished : mapping of str to str
        By case line how much was typed.
    unit : WeightUnit
        Of bare numbers.
    """
    made = room.shop.promising.booked_under(fields.one("key")[:64])
    if made is None:
        return None
    try:
        who = (read_name(fields.one("name"), "Name"), read_phone_end(fields.one("phone")))
        alike = all(_is_wished(line, wished.get(line.case_id, ""), unit) for line in made.lines)
    except BadValue:
        return None
    when = f"{made.collect_at:%Y-%m-%d %H:%M}" == f"{fields.one('day')} {fields.one('time')}"
    return made if alike and when and who == (made.name, made.phone_end) else None


def _is_wished(line: BookingLine, text: str, unit: WeightUnit) -> bool:
    """Tell whether a line is what was typed; the rest of a weight may be still to come."""
    if line.pieces is not None:
        return text.partition(" ")[0] == str(len(line.pieces))
    return bool(text) and line.weight <= parse_weight(text, unit)
