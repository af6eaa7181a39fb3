"""Reading the bare values of a plan, for its check."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

from collop.measures import Rounding, minor_places, round_fraction
from collop.measures.rounding import exact_fraction

__all__ = ["STEP", "amount", "by_key", "number", "rounded", "total"]

#: One scale step: a thousandth of the unit.
STEP = Fraction(1, 1000)


def amount(value: object) -> Fraction:
    """Return a weight or an amount of money, which must be a decimal in quotes.

    Raises
    ------
    ValueError
        If it is anything else.
    """
    if not isinstance(value, str) or "/" in value:
        raise ValueError(f"{value!r} is no decimal in quotes")
    return exact_fraction(value)


def number(value: object) -> Fraction:
    """Return a plain number, or a decimal in quotes, exactly.

    Raises
    ------
    TypeError, ValueError
        If it is anything else.
    """
    if isinstance(value, bool) or not isinstance(value, (int, float, str)):
        raise TypeError(f"{value!r} is no number")
    return exact_fraction(Decimal(repr(value)) if isinstance(value, float) else value)


def by_key(rows: Iterable[Mapping[str, Any]], key: str) -> dict[str, Mapping[str, Any]]:
    """Return rows by one of their keys."""
    return {row[key]: row for row in rows}


def total(values: Iterable[Fraction]) -> Fraction:
    """Return an exact sum."""
    return sum(values, Fraction(0))


def rounded(value: Fraction, currency: str, rule: Rounding) -> Fraction:
    """Return money rounded once to the currency's last place."""
    scale: int = 10 ** minor_places(currency)
    return Fraction(round_fraction(value * scale, rule), scale)
