"""Values for an element string from weights, prices and days.

References
----------
.. [1] The last digit of (310n), (320n), (392n) counts the decimals: rules BC084, BC085, BC114.
"""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

from collop.errors import BadValue
from collop.measures import Money, WeightUnit

__all__ = ["date_value", "price_element", "weight_element"]

_STEMS = {WeightUnit.KG: "310", WeightUnit.LB: "320"}
_MOST_DECIMALS = 5
_WEIGHT_DIGITS, _PRICE_DIGITS = 6, 15


def weight_element(net: Decimal, unit: WeightUnit) -> tuple[str, str]:
    """Return identifier and value of a net weight, with the decimals it was read with.

    Raises
    ------
    BadValue
        If it is zero or less, not in kg or lb, or does not fit 6 digits.

    Examples
    --------
    >>> weight_element(Decimal("4.85"), WeightUnit.LB)
    ('3202', '000485')
    """
    if unit not in _STEMS:
        raise BadValue(f"A code holds a weight in kg or lb, not in {unit}; weigh in one of them.")
    decimals = _decimals(net, "weight")
    digits = str(int(net.scaleb(decimals)))
    if net <= 0:
        raise BadValue(f"The weight {net} is zero or less; weigh again.")
    if decimals > _MOST_DECIMALS or len(digits) > _WEIGHT_DIGITS:
        raise BadValue(f"The weight {net:f} does not fit 6 digits; weigh in coarser steps.")
    return f"{_STEMS[unit]}{decimals}", digits.zfill(_WEIGHT_DIGITS)


def price_element(price: Money) -> tuple[str, str]:
    """Return identifier and value of a price in the currency of the place.

    Raises
    ------
    BadValue
        If it is zero or less, or too long.

    Examples
    --------
    >>> price_element(Money.of("15.84", "USD"))
    ('3922', '1584')
    """
    if price.minor <= 0:
        raise BadValue(f"The price {price} is zero or less; a pack without a price gets no ticket.")
    digits = str(price.minor)
    if len(digits) > _PRICE_DIGITS:
        raise BadValue(f"The price has {len(digits)} digits; a code holds {_PRICE_DIGITS}.")
    return f"392{_decimals(price.decimal(), 'price')}", digits


def date_value(day: dt.date) -> str:
    """Return the six digits of a day.

    Examples
    --------
    >>> date_value(dt.date(2026, 6, 13))
    '260613'
    """
    return f"{day:%y%m%d}"


def _decimals(amount: Decimal, what: str) -> int:
    """Return how many decimals an amount was written with."""
    exponent = amount.as_tuple().exponent
    if not isinstance(exponent, int) or abs(exponent) > 24:
        raise BadValue(f"The {what} must be a plain decimal such as 4.85.")
    return max(0, -exponent)
