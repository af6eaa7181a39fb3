"""Exact amounts on a sheet: one unit to another, plain decimals out, rounding that still closes."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from collop.measures import WeightUnit, decimal_of, round_fraction

__all__ = [
    "UNITS",
    "exact",
    "in_unit",
    "largest_remainder",
    "nearest_steps",
    "plain",
    "rounded",
]

UNITS = tuple(unit.value for unit in WeightUnit)

# exact by definition: 1 lb = 0.45359237 kg, 16 oz = 1 lb (NIST Handbook 44, Appendix C)
_POUNDS_PER = {
    WeightUnit.LB: Fraction(1),
    WeightUnit.OZ: Fraction(1, 16),
    WeightUnit.KG: Fraction(100_000_000, 45_359_237),
    WeightUnit.G: Fraction(100_000, 45_359_237),
}


def in_unit(amount: Fraction, unit: WeightUnit, to: WeightUnit) -> Fraction:
    """Return `amount` [`unit`] in the unit `to`, exactly.

    Examples
    --------
    >>> in_unit(Fraction(10), WeightUnit.OZ, WeightUnit.LB)
    Fraction(5, 8)
    """
    return amount * _POUNDS_PER[unit] / _POUNDS_PER[to]


def exact(number: float | str) -> Fraction:
    """Return the decimal a JSON number was written as, exactly."""
    return Fraction(Decimal(str(number)))


def plain(value: Fraction, places: int = 6) -> str:
    """Return a decimal without closing zeros, rounded half up to `places`.

    Examples
    --------
    >>> plain(Fraction(16)), plain(Fraction(1, 8))
    ('16', '0.125')
    """
    text = f"{decimal_of(value, places):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def rounded(value: Fraction, places: int) -> float:
    """Return a plain number (a share, a factor) rounded half up to `places`."""
    return float(decimal_of(value, places))


def largest_remainder(parts: Sequence[Fraction], steps: int) -> list[int]:
    """Round parts to whole steps so that they still sum to `steps`.

    Each part is rounded down; the steps left go to the largest remainders, the earlier first.

    Parameters
    ----------
    parts : sequence of Fraction
        In steps, none negative; their sum is near `steps`.
    steps : int
        What the rounded parts must sum to; zero or more.

    Examples
    --------
    >>> largest_remainder([Fraction(1, 3)] * 3, 1)
    [1, 0, 0]
    """
    found = [value.numerator // value.denominator for value in parts]
    order = sorted(range(len(parts)), key=lambda i: (found[i] - parts[i], i))
    left = steps - sum(found)
    while left > 0 and order:
        for index in order[:left]:
            found[index] += 1
        left = steps - sum(found)
    for index in reversed(order):
        # a sum that was rounded down: what has nothing gives nothing
        while left < 0 < found[index]:
            found[index] -= 1
            left += 1
    return found


def nearest_steps(value: Fraction, step: Fraction) -> int:
    """Return how many steps `value` is nearest to."""
    return round_fraction(value / step)
