"""Why what is added to a booking costs another price, and what to know before adding it."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from collop.measures import UnitPrice, WeightUnit
from collop.spread.contents import avoid_tags, tags_of
from collop.web.chalk_past import stood

if TYPE_CHECKING:
    from collections.abc import Sequence

    from collop.shop import BoardChange, Booking, CaseLine, Quote
    from collop.web.room import Room

__all__ = ["allergy_in", "board_price", "notes_on", "why_other_price"]


def board_price(price: UnitPrice, unit: WeightUnit) -> str:
    """Return a price per `unit` as text: exact where it was set so, else rounded for display."""
    if price.per is not unit:
        return f"{price.shown_per(unit):f}"
    exponent = price.amount.normalize().as_tuple().exponent
    return f"{price.amount:.{max(2, -int(exponent))}f}"


def _when(moment: datetime, now: datetime) -> str:
    """Return a time of today as hours, another day's with the day."""
    return f"{moment:%H:%M}" if moment.date() == now.date() else f"{moment:%a} {moment:%H:%M}"


def _was_quoted(quote: Quote | None, case_id: str, price: UnitPrice) -> bool:
    lines = quote.lines if quote else ()
    return any(one.case_id == case_id and one.unit_price == price for one in lines)


def _in_force(
    changes: Sequence[BoardChange], price: UnitPrice, now: datetime
) -> BoardChange | None:
    """Return the entry that put `price` up, if it is the one in force."""
    found = next((one.change for one in stood(changes, now) if not one.is_planned), None)
    return found if found is not None and found.price == price else None


def why_other_price(room: Room, booking: Booking, line: CaseLine, unit: WeightUnit) -> str:
    """Say why `line` is added at another price than it was booked at; empty if it is not.

    Parameters
    ----------
    room : Room
        The shop, for the quote and the board's history.
    booking : Booking
        What is booked already, at its own prices.
    line : CaseLine
        What is added, at the board of now.
    unit : WeightUnit
        Unit that prices are told in.
    """
    now = room.now()
    prices = dict.fromkeys(one.unit_price for one in booking.lines if one.case_id == line.id)
    others = [price for price in prices if price != line.price]
    if not others:
        return ""
    quote = room.shop.quote_by_id(booking.quote_id) if booking.quote_id else None
    told = []
    for price in others:
        text = board_price(price, unit)
        if quote is not None and _was_quoted(quote, line.id, price):
            text += (f" (quoted {_when(quote.made_at, now)}, held until"
                     f" {_when(quote.held_until, now)})")  # fmt: skip
        told.append(text)
    new = board_price(line.price, unit)
    change = _in_force(room.shop.board_changes(line.id), line.price, now)
    moved = f"The board is at {new} now."
    if change is not None:
        names = {person.id: person.name for person in room.shop.people()}
        by = f" by {names.get(change.by, change.by)}" if change.by else ""
        why = f": {change.why.strip().rstrip('.')}" if change.why.strip() else ""
        moved = f"The board moved to {new} at {_when(change.from_at, now)}{by}{why}."
    name = f"{line.name}," if "," in line.name else line.name
    return f"{name} was booked at {' and '.join(told)}. {moved} What is added now is at {new}."


def allergy_in(booking: Booking, line: CaseLine) -> str:
    """Return the allergens of this booking that a line holds, in words; empty if it holds none."""
    off = avoid_tags(f"allergen:{name}" for name in booking.ask.get("contains", ()))
    shared = off & tags_of(line.species, line.casing, line.contains)
    return ", ".join(sorted(tag.name for tag in shared))


def notes_on(booking: Booking, line: CaseLine) -> tuple[str, ...]:
    """Return what to say aloud before a line is added: who does not eat it, and its last day."""
    found = []
    if avoid_tags(booking.ask.get("avoids", ())) & tags_of(
        line.species, line.casing, line.contains
    ):
        said = ", ".join(booking.ask.get("dont_eats", ())) or "some of them"
        found.append(f"Not all of them eat {line.name}. The ask said: {said}.")
    day = booking.collect_at.date()
    if line.use_by is not None and line.use_by < day:
        last = line.use_by
        found.append(
            f"The oldest {line.name} is to be used by {last:%A} {last.day} {last:%B}, and this is"
            f" collected on {day:%A} {day.day} {day:%B}."
        )
    return tuple(found)
