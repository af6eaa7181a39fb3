"""Margin and mark-up: the same profit, over the price or over the cost.

::

    margin  m = (price - cost) / price        mark-up  u = (price - cost) / cost
    m = u / (1 + u)      u = m / (1 - m)      price = cost / (1 - m) = cost (1 + u)

References
----------
.. [1] Meat Retailing (A. C. Schueren), a simple example of percentage on the selling price, source
   id ``J09`` (seen): bought at 10, sold at 15 is 33 1/3 on the price.
"""

from __future__ import annotations

from fractions import Fraction

from collop.errors import BadValue

__all__ = [
    "margin_from_markup",
    "margin_of",
    "markup_from_margin",
    "markup_of",
    "price_from_margin",
    "price_from_markup",
]


def _below_one(margin: Fraction) -> Fraction:
    if margin >= 1:
        raise BadValue("A margin must be under 1 (100 % of the price); give a smaller one.")
    return margin


def _not_all(markup: Fraction) -> Fraction:
    if markup <= -1:
        raise BadValue("A mark-up must be above -1 (the whole cost); give a larger one.")
    return markup


def margin_of(price: Fraction, cost: Fraction) -> Fraction | None:
    """Return profit over price; None where nothing is paid."""
    return (price - cost) / price if price else None


def markup_of(price: Fraction, cost: Fraction) -> Fraction | None:
    """Return profit over cost; None where the cost is nothing or less."""
    return (price - cost) / cost if cost > 0 else None


def margin_from_markup(markup: Fraction) -> Fraction:
    """Return the margin that a mark-up makes.

    Raises
    ------
    BadValue
        If the mark-up takes off the whole cost.

    Examples
    --------
    >>> margin_from_markup(Fraction(30, 100))
    Fraction(3, 13)
    """
    return markup / (1 + _not_all(markup))


def markup_from_margin(margin: Fraction) -> Fraction:
    """Return the mark-up that makes a margin.

    Raises
    ------
    BadValue
        If the margin is the whole price or more.

    Examples
    --------
    >>> markup_from_margin(Fraction(35, 100))
    Fraction(7, 13)
    """
    return margin / (1 - _below_one(margin))


def price_from_margin(cost: Fraction, margin: Fraction) -> Fraction:
    """Return the price at which `cost` [money] leaves `margin`.

    Raises
    ------
    BadValue
        If the margin is the whole price or more.
    """
    return cost / (1 - _below_one(margin))


def price_from_markup(cost: Fraction, markup: Fraction) -> Fraction:
    """Return the price that a mark-up on `cost` [money] makes.

    Raises
    ------
    BadValue
        If the mark-up takes off the whole cost.
    """
    return cost * (1 + _not_all(markup))
