"""Plain words for a pick-up: how a short line eats, and the cent a rounding rule decides."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from collop.measures import (
    Rounding,
    UnitPrice,
    Weight,
    decimal_of,
    minor_places,
)

__all__ = ["HUNGRY", "LIGHT", "Plate", "counted", "half_cent", "per_cent", "plate_of"]

#: How many light and hungry eaters a usual portion feeds, as `collop.spread` has them.
LIGHT, HUNGRY = Fraction(7, 5), Fraction(7, 8)
_NUMBERS = ("nobody", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine",
            "ten", "eleven", "twelve")  # fmt: skip


def counted(heads: int) -> str:
    """Return a number of eaters in words up to twelve.

    Examples
    --------
    >>> counted(6), counted(34)
    ('six', '34')
    """
    return _NUMBERS[heads] if 0 <= heads < len(_NUMBERS) else str(heads)


def half_cent(price: UnitPrice, weight: Weight, rule: Rounding) -> str:
    """Return which rule decided the last cent; empty where the money is no exact half cent.

    Examples
    --------
    >>> half_cent(UnitPrice.of("8.90", WeightUnit.LB), Weight.of("4.15", WeightUnit.LB),
    ...           Rounding.HALF_UP)
    '36.935 is an exact half cent: half up gives 36.94'
    """
    exact = weight.exact(price.per) * price.minor
    if exact.denominator != 2:
        return ""
    places = minor_places(price.currency)
    amount = decimal_of(exact / 10**places, places + 1)
    named = rule.value.replace("-", " ")
    return f"{amount} is an exact half cent: {named} gives {price.line(weight, rule)}"


def per_cent(short: Weight, promised: Weight) -> int:
    """Return how much is missing in whole per cent, rounded half up; 0 if nothing is."""
    if short <= Weight.zero() or promised <= Weight.zero():
        return 0
    return int(Fraction(100 * short.count, promised.count) + Fraction(1, 2))


@dataclass(frozen=True, slots=True)
class Plate:
    """Raw boneless ounces a head, as booked and as weighed, and the words for the customer.

    `band` is light, usual or hungry: the eater whose portion the weighed one comes nearest to.
    """

    heads: int
    booked_oz: Decimal
    weighed_oz: Decimal
    band: str
    words: str


def _band(ounces: Fraction, usual: Fraction) -> str:
    ends: Mapping[str, Fraction] = {
        "light": usual / LIGHT, "usual": usual, "hungry": usual / HUNGRY,
    }  # fmt: skip
    return min(ends, key=lambda name: abs(ends[name] - ounces))


def plate_of(
    booked: Fraction, weighed: Fraction, heads: int | None, usual: Fraction
) -> Plate | None:
    """Return how a booking eats with what was weighed; None if nobody said how many eat.

    Parameters
    ----------
    booked, weighed : Fraction
        Raw boneless-equivalent pounds of the whole booking.
    heads : int or None
        Eaters.
    usual : Fraction
        Usual ounces a head in the dish style; the light and the hungry portion follow from it.
    """
    if not heads or booked <= 0:
        return None
    before, now = 16 * booked / heads, 16 * weighed / heads
    band = _band(now, usual)
    said = {
        "light": "less than booked: a light plate, so a top-up is worth offering",
        "usual": "a little less than booked, still a full plate",
        "hungry": "less than booked, still plenty",
    }[band]
    if now < usual / LIGHT:
        said = "less than a light plate: top it up or swap it"
    if now >= before:
        said = "as much as was booked"
    was, is_ = decimal_of(before, 1), decimal_of(now, 1)
    words = f"{counted(heads).capitalize()} still get {is_} oz instead of {was}: {said}."
    if now >= before:
        words = f"{counted(heads).capitalize()} get {is_} oz each: {said}."
    return Plate(heads, was, is_, band, words)
