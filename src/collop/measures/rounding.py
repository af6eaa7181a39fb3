"""The one place where exact amounts become money or display figures."""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction

__all__ = ["Rounding", "round_fraction"]


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
