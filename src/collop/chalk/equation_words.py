"""Amounts of a board as texts: money, prices, weights, and the short names of `say`."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from collop.measures import Rounding, decimal_of, minor_places, round_fraction

__all__ = ["Texts", "number"]

_EXACT_PLACES = 6


def number(value: Fraction, places: int = 6) -> float:
    """Return a plain number (a share, a ratio) rounded half up to `places`."""
    return float(decimal_of(value, places))


class Texts:
    """How amounts are written in one currency.

    Parameters
    ----------
    currency : str
        Three letters.
    rounding : Rounding
        The named rule for the last digit.

    Examples
    --------
    >>> texts = Texts("USD", Rounding.HALF_UP)
    >>> texts.minor(-50), texts.money(Fraction(10, 3)), texts.weight(Fraction(1, 8))
    ('-0.50', '3.33', '0.125')
    """

    def __init__(self, currency: str, rounding: Rounding) -> None:
        self.places = minor_places(currency)
        self.units: int = 10**self.places
        #: Writes whole minor units as money; thousands of times on a long board.
        self.minor: Callable[[int], str] = _Written(self.places).__getitem__
        self._rounding = rounding

    def money(self, amount: Fraction) -> str:
        """Return money rounded to the minor unit."""
        return self.minor(round_fraction(amount * self.units, self._rounding))

    def price(self, amount: Fraction) -> str:
        """Return a price with all its decimals (six at the most), the currency's at the least."""
        whole = amount * self.units
        if whole.denominator == 1:
            return self.minor(whole.numerator)
        text = self._fixed(amount, _EXACT_PLACES)
        keep = len(text) - _EXACT_PLACES + self.places
        return (text[:keep] + text[keep:].rstrip("0")).rstrip(".")

    def exact(self, amount: Fraction) -> str:
        """Return a price before it is put on an ending, to four places more than money has."""
        return self._fixed(amount, self.places + 4)

    def weight(self, amount: Fraction, places: int = 6) -> str:
        """Return a weight without closing zeros."""
        text = self._fixed(amount, places)
        return text.rstrip("0").rstrip(".") if "." in text else text

    def _fixed(self, amount: Fraction, places: int) -> str:
        return _point(round_fraction(amount * 10**places, self._rounding), places)


class _Written(dict[int, str]):
    """Whole numbers of the last place with their texts, each built once."""

    def __init__(self, places: int) -> None:
        super().__init__()
        self._places = places

    def __missing__(self, amount: int) -> str:
        text = self[amount] = _point(amount, self._places)
        return text


def _point(scaled: int, places: int) -> str:
    """Return a whole number of the last place with its point set."""
    sign = "-" if scaled < 0 else ""
    digits = f"{abs(scaled):0{places + 1}d}"
    return f"{sign}{digits[:-places]}.{digits[-places:]}" if places else sign + digits
