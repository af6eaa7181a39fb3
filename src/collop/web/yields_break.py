"""Filling a sheet from a closed break: weights of its parts, and what was paid for the piece."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from collop.errors import BadValue, NotFound
from collop.measures import Weight, WeightUnit, decimal_of
from collop.web.forms import Faults, Fields, read_whole

if TYPE_CHECKING:
    from collop.shop import Break, CuttingRoom
    from collop.web.room import Room

__all__ = ["Filled", "filled_from"]

_MOST_BREAKS = 999_999_999
_PRICE_PLACES = 4
_CREDITED = frozenset({"trim", "fat", "bone", "fat_bone"})


@dataclass(slots=True)
class Filled:
    """A sheet's texts, as typed or as filled from a break.

    Parameters
    ----------
    fields : Fields
        The texts.
    faults : Faults
        What is wrong with the break that was asked for.
    note : str
        What was filled in, and what must still be entered.
    price : str
        Paid for a pound of the piece as it came, to four places; empty if not known.
    came_in : Weight
        The piece as it came, before it lost to air.
    parts : tuple of (name, weight, kind)
        What was weighed, lines of one name together.
    """

    fields: Fields
    faults: Faults = field(default_factory=Faults)
    note: str = ""
    price: str = ""
    came_in: Weight = field(default_factory=Weight.zero)
    parts: tuple[tuple[str, Weight, str], ...] = ()
    wants_price: bool = False

    @staticmethod
    def pounds(weight: Weight) -> str:
        """Return a weight as it is written in a field for pounds."""
        return f"{weight.decimal(WeightUnit.LB, 4).normalize():f}"


def filled_from(
    room: Room,
    fields: Fields,
    lines: Callable[[Break, Filled], Iterable[tuple[str, str]]],
) -> Filled:
    """Return the fields as typed, or those of the break they name.

    Parameters
    ----------
    room : Room
        The open shop.
    fields : Fields
        What was typed; ``break`` names a break.
    lines : callable
        Names and texts of the sheet's fields for that break.
    """
    filled = Filled(fields)
    text = fields.one("break")
    if not text:
        return filled
    found = filled.faults.take("break", lambda: _closed_break(room.shop.cutting, text), None)
    if found is None:
        return filled
    filled.parts = _together(found)
    filled.came_in = _came_in(room.shop.cutting, found)
    filled.price = _price(room, found.tag)
    filled.fields = Fields([("break", text), *lines(found, filled)])
    filled.wants_price = not filled.price
    filled.note = _note(found, filled)
    return filled


def _closed_break(cutting: CuttingRoom, text: str) -> Break:
    number = read_whole(text, "Break", 1, _MOST_BREAKS)
    try:
        found = cutting.break_(number)
    except NotFound as error:
        raise BadValue(error.message) from None
    if found.is_open:
        raise BadValue(f"Break {number} is still open; close it at the knife first.")
    return found


def _together(found: Break) -> tuple[tuple[str, Weight, str], ...]:
    """Return one line for each part: a part may be weighed in several tubs."""
    sums: dict[tuple[str, str], int] = {}
    for one in found.parts:
        sums[one.part, one.kind] = sums.get((one.part, one.kind), 0) + one.weight.count
    return tuple((part, Weight(count, WeightUnit.LB), kind) for (part, kind), count in sums.items())


def _came_in(cutting: CuttingRoom, found: Break) -> Weight:
    """Return the weight the piece was hung with; what it lost to air since was paid for too."""
    first = next((lot for lot in cutting.trace(found.tag).up if lot.lot_id == found.tag), None)
    return max(first.weight, found.start) if first else found.start


def _price(room: Room, tag: str) -> str:
    """Return what a pound of the piece cost as it came; empty if that is not known."""
    paid = room.shop.cutting.price_paid(tag)
    if paid is None:
        return ""
    pound = Weight.of(1, WeightUnit.LB).exact(paid.per)
    return f"{decimal_of(Fraction(paid.amount) * pound, _PRICE_PLACES):f}"


def _note(found: Break, filled: Filled) -> str:
    price = (
        f"the price is what was paid, {filled.price} a pound as it came"
        if filled.price
        else "what was paid is not known any more, so enter the price"
    )
    rest = (
        ""
        if not any(kind in _CREDITED for _, _, kind in filled.parts)
        else (" Trim, fat and bone count nothing until they are given a value.")
    )
    return f"Filled from break {found.number} of {found.tag}: {price}.{rest}"
