"""Sentences of the lock-up in the unit of the device: they are made in the shop's own."""

from __future__ import annotations

import re
from collections.abc import Callable

from collop.measures import UnitPrice, Weight, WeightUnit
from collop.web.rendering import Shown

__all__ = ["in_units"]

_PRICE = re.compile(r"\b([0-9]+(?:\.[0-9]+)?) a (lb|kg)\b")
_WEIGHT = re.compile(r"(-?\b[0-9]+(?:\.[0-9]+)?) (lb|kg)\b")


def in_units(show: Shown) -> Callable[[str], str]:
    """Return a function that tells each weight and price of a sentence as the device does.

    Examples
    --------
    >>> in_units(Shown("lb"))("Carry 14.5 lb at 8.40 a lb: 2 days left.")
    'Carry 14.50 lb at 8.40 /lb: 2 days left.'
    >>> in_units(Shown("kg"))("Carry 14.5 lb: 2 days left.")
    'Carry 6.577 kg: 2 days left.'
    """

    def price(found: re.Match[str]) -> str:
        return show.price(UnitPrice.of(found[1], WeightUnit(found[2])))

    def weight(found: re.Match[str]) -> str:
        return show.weight(Weight.of(found[1], WeightUnit(found[2])))

    return lambda text: _WEIGHT.sub(weight, _PRICE.sub(price, text))
