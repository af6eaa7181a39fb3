"""The words of a ticket: money, weights, days, cooking; one place, so that paper and page agree."""

from __future__ import annotations

from decimal import Decimal

from collop.measures import Money, WeightUnit
from collop.reference.limits import CookMinimum

__all__ = ["cook_words", "money_text", "net_words", "price_words", "tare_words"]

_SIGNS = {"USD": "$", "CAD": "$", "AUD": "$", "NZD": "$", "GBP": "£", "EUR": "€"}


def money_text(amount: Decimal | Money, currency: str) -> str:
    """Return money with its sign, or with the currency's letters where it has none here.

    Examples
    --------
    >>> money_text(Decimal("8.40"), "USD"), money_text(Decimal("84"), "SEK")
    ('$8.40', 'SEK 84')
    """
    shown = str(amount) if isinstance(amount, Money) else f"{amount:f}"
    sign = _SIGNS.get(currency)
    return f"{sign}{shown}" if sign else f"{currency} {shown}"


def net_words(net: Decimal, unit: WeightUnit, other: Decimal | None, other_unit: WeightUnit) -> str:
    """Return e.g. ``Net 4.85 lb (2.199 kg)``; no other word may stand near (WM058)."""
    beside = "" if other is None else f" ({other:f} {other_unit})"
    return f"Net {net:f} {unit}{beside}"


def price_words(
    amount: Decimal, per: WeightUnit, other: Decimal | None, other_unit: WeightUnit, currency: str
) -> str:
    """Return e.g. ``$8.40/lb ($18.52/kg)``."""
    beside = "" if other is None else f" ({money_text(other, currency)}/{other_unit})"
    return f"{money_text(amount, currency)}/{per}{beside}"


def tare_words(tare: Decimal, unit: WeightUnit) -> str:
    """Return e.g. ``Tare 0.02 lb``, or that there is no packing."""
    return f"Tare {tare:f} {unit}" if tare else f"Tare 0 {unit}: no packing"


def cook_words(least: CookMinimum, *, celsius: bool, tenderised: bool) -> str:
    """Return e.g. ``Cook: 145 F in the middle, then rest 3 min``.

    Parameters
    ----------
    least : CookMinimum
        The published minimum.
    celsius : bool
        Say it in degC.
    tenderised : bool
        Say that a thermometer is needed as well: part of validated instructions (LB094, from
        memory).
    """
    degrees = f"{least.whole_celsius} C" if celsius else f"{least.whole_fahrenheit} F"
    rest = f", then rest {least.rest_min} min" if least.rest_min else ""
    probe = ", checked with a thermometer" if tenderised else ""
    return f"Cook: {degrees} in the middle{probe}{rest}"
