"""Exact temperature and temperature difference: two types that never mix.

Both are whole counts of 1/9000 K, so 0.001 degC (9 counts) and 0.001 degF (5 counts) are exact.

References
----------
.. [1] BIPM, The International System of Units (SI Brochure): t/degC = T/K - 273.15.
.. [2] NIST, Special Publication 811, B.8: t/degC = (t/degF - 32)/1.8.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from collop.errors import BadValue
from collop.measures.rounding import exact_fraction
from collop.measures.weight import decimal_of

__all__ = ["Temperature", "TemperatureDifference"]

_PER_K = 9000
_PER_F = 5000
_ZERO_C = 2_458_350  # 273.15 K
_ZERO_F = _ZERO_C - 32 * _PER_F


def _count(amount: Decimal | str | int, per_degree: int, unit: str) -> int:
    try:
        exact = exact_fraction(amount) * per_degree
    except ValueError:
        raise BadValue(f"{amount!r} is not a temperature; write a number such as 63.") from None
    if exact.denominator != 1:
        raise BadValue(f"{amount} {unit} is finer than 0.001 degree; round it first.")
    return int(exact)


@dataclass(frozen=True, slots=True, order=True)
class TemperatureDifference:
    """How much warmer one thing is than another."""

    count: int

    @classmethod
    def kelvin(cls, amount: Decimal | str | int) -> TemperatureDifference:
        """Read a difference in kelvin (equal to degC steps)."""
        return cls(_count(amount, _PER_K, "K"))

    @classmethod
    def fahrenheit_degrees(cls, amount: Decimal | str | int) -> TemperatureDifference:
        """Read a difference in degF steps."""
        return cls(_count(amount, _PER_F, "degF"))

    def in_kelvin(self, places: int = 1) -> Decimal:
        """Return the difference in kelvin, rounded half up."""
        return decimal_of(Fraction(self.count, _PER_K), places)

    def in_fahrenheit_degrees(self, places: int = 1) -> Decimal:
        """Return the difference in degF steps, rounded half up."""
        return decimal_of(Fraction(self.count, _PER_F), places)


@dataclass(frozen=True, slots=True, order=True)
class Temperature:
    """How warm a thing is.

    Examples
    --------
    >>> Temperature.fahrenheit(145).text()
    '63 °C (145 °F)'
    """

    count: int

    def __post_init__(self) -> None:
        if self.count < 0:
            raise BadValue("A temperature below absolute zero was given; check its unit.")

    @classmethod
    def celsius(cls, amount: Decimal | str | int) -> Temperature:
        """Read degC."""
        return cls(_count(amount, _PER_K, "degC") + _ZERO_C)

    @classmethod
    def fahrenheit(cls, amount: Decimal | str | int) -> Temperature:
        """Read degF."""
        return cls(_count(amount, _PER_F, "degF") + _ZERO_F)

    def in_celsius(self, places: int = 1) -> Decimal:
        """Return degC, rounded half up."""
        return decimal_of(Fraction(self.count - _ZERO_C, _PER_K), places)

    def in_fahrenheit(self, places: int = 1) -> Decimal:
        """Return degF, rounded half up."""
        return decimal_of(Fraction(self.count - _ZERO_F, _PER_F), places)

    def text(self) -> str:
        """Return both scales in whole degrees, Celsius first."""
        return f"{self.in_celsius(0)} °C ({self.in_fahrenheit(0)} °F)"

    def __sub__(self, other: Temperature) -> TemperatureDifference:
        if not isinstance(other, Temperature):  # a difference has a count too
            return NotImplemented
        return TemperatureDifference(self.count - other.count)

    def __add__(self, other: TemperatureDifference) -> Temperature:
        if not isinstance(other, TemperatureDifference):
            return NotImplemented
        return Temperature(self.count + other.count)
