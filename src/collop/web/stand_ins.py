"""What may fill the gap of a short line: like meat, and nothing the table must not have."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from collop.measures import Money, Weight, WeightUnit, decimal_of
from collop.spread.contents import avoid_tags, tags_of
from collop.spread.problem import Avoid

if TYPE_CHECKING:
    from collop.shop import Booking, BookingLine, CaseLine

__all__ = ["StandIn", "barred_for", "stand_in"]

_STEP = Decimal("0.05")
# sums of shortest and longest time that differ by less than this count as alike
_LIKE_MINUTES = 60


@dataclass(frozen=True, slots=True)
class StandIn:
    """A free line that could fill a gap, with its weight and money."""

    case_id: str
    name: str
    weight: Weight
    money: Money


def _made_of(line: CaseLine) -> frozenset[Avoid]:
    return tags_of(line.species, line.casing, line.contains)


def _brings(one: CaseLine, booked: CaseLine) -> bool:
    """Tell whether a line brings an allergen that the booked one does not hold, or is no meat."""
    new = {tag for tag in _made_of(one) - _made_of(booked) if tag.kind == "allergen"}
    meat = Avoid("meat")
    return bool(new) or (meat in _made_of(one)) != (meat in _made_of(booked))


def barred_for(booking: Booking, booked: CaseLine) -> frozenset[Avoid]:
    """Return what must not be in a stand-in for this booking.

    Its allergies always; what some of its eaters avoid, unless the booked line holds it already
    and so was meant for the others.
    """
    ask = booking.ask
    allergies = avoid_tags(f"allergen:{name}" for name in ask.get("contains", ()))
    avoided = avoid_tags(ask.get("avoids", ()))
    return allergies | (avoided - _made_of(booked))


def stand_in(
    booking: Booking, line: BookingLine, gap: Weight, case: tuple[CaseLine, ...]
) -> StandIn | None:
    """Return the nearest free line that gives as much meat as `gap` of the booked one.

    Nearest: of the same species, then of like cooking time (it goes into the same pot at the same
    hour), then nearest in price.  Never anything past its day, anything with an allergen that the
    booked line does not hold, nor anything that someone at the table does not eat.
    """
    booked = next((one for one in case if one.id == line.case_id), None)
    if booked is None or not booked.boneless_fraction:
        return None
    barred = barred_for(booking, booked)
    found = []
    for one in case:
        if one.is_past or _made_of(one) & barred or _brings(one, booked):
            continue
        shared = set(one.styles) & set(booked.styles)
        if one.id == booked.id or not shared or one.piece_lb is not None or one.form == "frozen":
            continue
        weight = _same_meat(gap, booked.boneless_fraction, one.boneless_fraction)
        if weight is None or weight > one.free:
            continue
        later = abs(sum(one.minutes) - sum(booked.minutes)) // _LIKE_MINUTES
        dearer = abs(one.price.amount - booked.price.amount)
        found.append(((one.species != booked.species, later, dearer, one.id), one, weight))
    if not found:
        return None
    _, one, weight = min(found, key=lambda entry: entry[0])
    return StandIn(one.id, one.name, weight, one.price.line(weight))


def _same_meat(gap: Weight, given: Decimal, wanted: Decimal) -> Weight | None:
    if not wanted:
        return None
    exact = gap.exact(WeightUnit.LB) * Fraction(given) / Fraction(wanted)
    steps = -(-exact // Fraction(_STEP))
    return Weight.of(decimal_of(steps * Fraction(_STEP), 2), WeightUnit.LB)
