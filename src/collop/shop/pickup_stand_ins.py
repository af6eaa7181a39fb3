"""What may stand in for a line: like meat, and nothing the table must not have."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from collop.measures import Money, Rounding, UnitPrice, Weight, WeightUnit, decimal_of
from collop.shop.model import Booking, BookingLine, CaseLine
from collop.spread.contents import avoid_tags, tags_of
from collop.spread.problem import Avoid

__all__ = ["StandIn", "barred_for", "bars", "made_of", "same_meat", "stand_in", "told_allergens",
           "told_later"]  # fmt: skip

_STEP = Decimal("0.05")
# sums of shortest and longest time that differ by less than this count as alike
_LIKE_MINUTES = 60


@dataclass(frozen=True, slots=True)
class StandIn:
    """A free line that could fill a gap, with its weight, its own price, and its money."""

    case_id: str
    name: str
    weight: Weight
    price: UnitPrice
    money: Money


def made_of(line: CaseLine) -> frozenset[Avoid]:
    """Return all that a line is made of, at any depth of its batch."""
    return tags_of(line.species, line.casing, line.contains)


def _brings(one: CaseLine, booked: CaseLine) -> bool:
    """Tell whether a line brings an allergen that the booked one does not hold, or is no meat."""
    new = {tag for tag in made_of(one) - made_of(booked) if tag.kind == "allergen"}
    meat = Avoid("meat")
    return bool(new) or (meat in made_of(one)) != (meat in made_of(booked))


def told_later(booking: Booking) -> tuple[str, ...]:
    """Return the allergens that were told by a call after the order, oldest first."""
    later: list[str] = []
    last = ""
    for event in booking.events:
        if event.what == "stop":
            later.append(event.why.partition(":")[0])
        elif event.what == "undo" and last == "stop":
            later.pop()
        last = event.what
    return tuple(dict.fromkeys(later))


def told_allergens(booking: Booking) -> tuple[str, ...]:
    """Return the allergens a table must not have: told with the order, or by a call after it."""
    told = (str(name) for name in booking.ask.get("contains", ()))
    return tuple(dict.fromkeys([*told, *told_later(booking)]))


def barred_for(booking: Booking, booked: CaseLine) -> frozenset[Avoid]:
    """Return what must not be in a stand-in for this booking.

    Its allergies always; what some of its eaters avoid, unless the booked line holds it already
    and so was meant for the others.
    """
    allergies = avoid_tags(f"allergen:{name}" for name in told_allergens(booking))
    avoided = avoid_tags(booking.ask.get("avoids", ()))
    return allergies | (avoided - made_of(booked))


def bars(booking: Booking, booked: CaseLine, one: CaseLine) -> tuple[str, ...]:
    """Return the names of what is in a line that this table must not have; empty if nothing."""
    return tuple(sorted(tag.name or tag.kind for tag in made_of(one) & barred_for(booking, booked)))


def stand_in(
    booking: Booking, line: BookingLine, gap: Weight, case: Iterable[CaseLine],
    rule: Rounding = Rounding.HALF_UP,
) -> StandIn | None:  # fmt: skip
    """Return the nearest free line that gives as much meat as `gap` of the booked one.

    Nearest: of the same species, then of like cooking time (it goes into the same pot at the same
    hour), then nearest in price.  Never anything past its day, anything with an allergen that the
    booked line does not hold, nor anything that someone at the table does not eat.
    """
    lines = tuple(case)
    booked = next((one for one in lines if one.id == line.case_id), None)
    if booked is None or not booked.boneless_fraction:
        return None
    barred = barred_for(booking, booked)
    found = []
    for one in lines:
        if one.is_past or made_of(one) & barred or _brings(one, booked):
            continue
        shared = set(one.styles) & set(booked.styles)
        if one.id == booked.id or not shared or one.piece_lb is not None or one.form == "frozen":
            continue
        weight = same_meat(gap, booked.boneless_fraction, one.boneless_fraction)
        if weight is None or weight > one.free:
            continue
        later = abs(sum(one.minutes) - sum(booked.minutes)) // _LIKE_MINUTES
        dearer = abs(one.price.amount - booked.price.amount)
        found.append(((one.species != booked.species, later, dearer, one.id), one, weight))
    if not found:
        return None
    _, one, weight = min(found, key=lambda entry: entry[0])
    return StandIn(one.id, one.name, weight, one.price, one.price.line(weight, rule))


def same_meat(gap: Weight, given: Decimal, wanted: Decimal) -> Weight | None:
    """Return what gives as much boneless meat, up to the next 0.05 lb; None if it gives none."""
    if not wanted:
        return None
    exact = gap.exact(WeightUnit.LB) * Fraction(given) / Fraction(wanted)
    steps = -(-exact // Fraction(_STEP))
    return Weight.of(decimal_of(steps * Fraction(_STEP), 2), WeightUnit.LB)
