"""A temperature as somebody types it, and when it is asked whether it was F or C."""

from __future__ import annotations

import re
from collections.abc import Mapping

from collop.errors import BadValue
from collop.measures import Temperature
from collop.shop.day_model import both_scales

__all__ = ["read_degrees"]

_DEGREES = re.compile(r"([+-]?[0-9]{1,3}(?:[.,][0-9]{1,2})?)\s*°?\s*([CFcf]?)")
# what a thermometer there may say before it is asked whether it is degF or degC [degF]
_LIKELY: Mapping[str, tuple[int, int]] = {
    "chilled": (20, 75), "frozen": (-40, 45), "room": (28, 110), "": (-76, 248),
}  # fmt: skip


def read_degrees(text: str, label: str, degrees: str, kind: str = "") -> Temperature:
    """Read a temperature; a unit typed with it goes before the device's.

    Parameters
    ----------
    text, label : str
        As typed, and what the field is called.
    degrees : str
        ``F`` or ``C``, of a bare number.
    kind : str
        Kind of the place; a bare number that is unlikely there is asked about.

    Raises
    ------
    BadValue
        If it is empty, no temperature, or unlikely and without a unit.
    """
    if not text:
        raise BadValue(f"{label}: write what the thermometer says, such as 39 or 3.9 C.")
    found = _DEGREES.fullmatch(text.replace("\N{MINUS SIGN}", "-").replace("\N{EN DASH}", "-"))
    if found is None:
        raise BadValue(f"{label}: write the degrees like 39, -2 or 3.9 C.")
    unit, amount = found[2].upper() or degrees, found[1].replace(",", ".")
    read = Temperature.celsius(amount) if unit == "C" else Temperature.fahrenheit(amount)
    low, high = (Temperature.fahrenheit(one) for one in _LIKELY[kind])
    if not found[2] and not low <= read <= high:
        raise BadValue(
            f"{label}: is it {both_scales(read)}? Write {amount} F or {amount} C, as it was read."
        )
    return read
