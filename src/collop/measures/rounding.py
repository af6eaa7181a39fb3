"""The one place where exact amounts become money or display figures."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from enum import StrEnum
from fractions import Fraction

__all__ = ["Rounding", "exact_fraction", "round_fraction"]

# beyond these an amount is no reading of a scale, till or probe, and 10**exponent would not end
_LONGEST_TEXT = 40
_HIGHEST_POWER = 12
_LOWEST_POWER = -30


class Rounding(StrEnum):
    """Named rule for the last cent.

    ``half-up`` rounds an exact half away from zero, ``half-even`` to the even neighbour.
    """

    HALF_UP = "half-up"
    HALF_EVEN = "half-even"


def round_fraction(value: Fraction, rule: Rounding = Rounding.HALF_UP) -> int:
    """Round an exact value to the nearest whole number by a named rule.

    Examples
    --------
    >>> round_fraction(Fraction(7387, 2))
    3694
    >>> round_fraction(Fraction(5, 2), Rounding.HALF_EVEN)
    2
    """
    if rule is Rounding.HALF_EVEN:
        return round(value)
    if value < 0:
        return -round_fraction(-value, rule)
    return (2 * value.numerator + value.denominator) // (2 * value.denominator)


def exact_fraction(amount: Decimal | Fraction | int | str) -> Fraction:
    """Return `amount` exactly; a text may be a decimal or a fraction such as ``3/4``.

    Raises
    ------
    ValueError
        If it is no finite number under 1e13 with at most 30 decimals.
    """
    if isinstance(amount, (int, Fraction)):
        return Fraction(amount)
    if isinstance(amount, str) and len(amount) > _LONGEST_TEXT:
        raise ValueError("too long")
    if isinstance(amount, str) and "/" in amount:
        try:
            return Fraction(amount)
        except ZeroDivisionError:
            raise ValueError("division by zero") from None
    try:
        value = Decimal(amount)
    except InvalidOperation:
        raise ValueError("no number") from None
    exponent = value.as_tuple().exponent
    if not isinstance(exponent, int) or exponent < _LOWEST_POWER:
        raise ValueError("not finite, or too fine")
    if value.adjusted() > _HIGHEST_POWER:
        raise ValueError("too large")
    return Fraction(value)
