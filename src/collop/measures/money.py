"""Exact money and unit prices.

Money is a whole number of the currency's minor unit. A line is net weight times unit price,
rounded once by one named rule; a total is the sum of its rounded lines.

References
----------
.. [1] ISO 4217: number of decimal places ("exponent") of each currency. The few listed here are
   quoted from memory; other currencies are taken to have two.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from functools import total_ordering
from typing import TYPE_CHECKING

from collop.errors import BadValue
from collop.measures.rounding import Rounding, exact_fraction, round_fraction
from collop.measures.weight import WeightUnit, decimal_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from collop.measures.weight import Weight

__all__ = ["Money", "UnitPrice", "minor_places", "sum_money"]

_PLACES = {"JPY": 0, "KRW": 0, "ISK": 0, "KWD": 3, "BHD": 3, "TND": 3}


def minor_places(currency: str) -> int:
    """Return how many decimals `currency` has.

    Raises
    ------
    BadValue
        If `currency` is not three capital letters.
    """
    if not re.fullmatch(r"[A-Z]{3}", currency):
        raise BadValue(f"{currency!r} is not a currency; use three letters such as USD.")
    return _PLACES.get(currency, 2)


@total_ordering
@dataclass(frozen=True, slots=True)
class Money:
    """An amount of money in whole minor units.

    Examples
    --------
    >>> Money.of("40.74", "USD").minor
    4074
    """

    minor: int
    currency: str = "USD"

    @classmethod
    def of(cls, amount: Decimal | str | int, currency: str = "USD") -> Money:
        """Read a decimal amount; more decimals than the currency has are refused."""
        places = minor_places(currency)
        try:
            scaled = exact_fraction(amount) * 10**places
        except ValueError:
            raise BadValue(f"{amount!r} is not an amount of money; write it like 4.85.") from None
        if scaled.denominator != 1:
            raise BadValue(f"{amount} has more decimals than {currency}; round it first.")
        return cls(int(scaled), currency)

    def decimal(self) -> Decimal:
        """Return the amount with the currency's decimals."""
        return Decimal(self.minor).scaleb(-minor_places(self.currency))

    def __str__(self) -> str:
        return f"{self.decimal():f}"

    def _same(self, other: Money) -> None:
        if self.currency != other.currency:
            raise BadValue(f"{self.currency} and {other.currency} cannot be added or compared.")

    def __add__(self, other: Money) -> Money:
        self._same(other)
        return Money(self.minor + other.minor, self.currency)

    def __sub__(self, other: Money) -> Money:
        self._same(other)
        return Money(self.minor - other.minor, self.currency)

    def __mul__(self, times: int) -> Money:
        return Money(self.minor * times, self.currency)

    def __lt__(self, other: Money) -> bool:
        self._same(other)
        return self.minor < other.minor

    def shared_by(self, heads: int, rule: Rounding = Rounding.HALF_UP) -> Money:
        """Return the money a head, rounded once."""
        if heads < 1:
            raise BadValue(f"{heads} heads cannot share money; give 1 or more.")
        return Money(round_fraction(Fraction(self.minor, heads), rule), self.currency)


def sum_money(amounts: Iterable[Money], currency: str = "USD") -> Money:
    """Add rounded lines; an empty list is zero."""
    total = Money(0, currency)
    for amount in amounts:
        total += amount
    return total


@dataclass(frozen=True, slots=True)
class UnitPrice:
    """A price per pound or per kilogram, kept in the unit it was set in.

    Examples
    --------
    >>> from collop.measures.weight import Weight
    >>> price = UnitPrice.of("8.40", WeightUnit.LB)
    >>> str(price.line(Weight.of("4.85", WeightUnit.LB)))
    '40.74'
    >>> str(price.shown_per(WeightUnit.KG))
    '18.52'
    """

    amount: Decimal
    per: WeightUnit = WeightUnit.LB
    currency: str = "USD"

    @classmethod
    def of(cls, amount: Decimal | str, per: WeightUnit, currency: str = "USD") -> UnitPrice:
        """Read a unit price; it must be zero or more and finite."""
        try:
            value = Decimal(amount)
            exact = exact_fraction(value)
        except (InvalidOperation, ValueError):
            raise BadValue(f"{amount!r} is not a price; write it like 8.40.") from None
        if exact < 0:
            raise BadValue(f"{amount} is not a price; it must be zero or more.")
        return cls(value, per, currency)

    @property
    def minor(self) -> Fraction:
        """Return the exact price in minor units of the currency per `per`."""
        scale: int = 10 ** minor_places(self.currency)
        return Fraction(self.amount) * scale

    def line(self, net: Weight, rule: Rounding = Rounding.HALF_UP) -> Money:
        """Return net weight times price, rounded once."""
        return Money(round_fraction(net.exact(self.per) * self.minor, rule), self.currency)

    def shown_per(self, unit: WeightUnit) -> Decimal:
        """Return the price per `unit` for display only; never price from it."""
        pounds = {WeightUnit.LB: Fraction(1), WeightUnit.OZ: Fraction(1, 16),
                  WeightUnit.KG: Fraction(100_000_000, 45_359_237),
                  WeightUnit.G: Fraction(100_000, 45_359_237)}  # fmt: skip
        exact = Fraction(self.amount) * pounds[unit] / pounds[self.per]
        return decimal_of(exact, minor_places(self.currency))
