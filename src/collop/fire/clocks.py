"""Rests, waits and hours out of the fridge, by the form of a piece.

Rests and waits by form are common practice, no published source; only the rest of the published
minimum (3 min for whole cuts) and the temperature of hot holding are published. Times of thawing
and salting stand in `collop.fire.clocks_thaw` and `collop.fire.clocks_salt`.

References
----------
.. [1] USDA FSIS, Safe minimum internal temperatures. Source id ``FSIS_MIN``.
.. [2] USDA FSIS, Serving temperatures and two-hour rule. Source id ``FSIS_SERVE``.
"""

from __future__ import annotations

import re
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from collop.errors import BadValue
from collop.fire.around_carving import carve_line
from collop.fire.problem import FORMS, FireItem
from collop.measures import Temperature
from collop.reference import cook_minimum
from collop.reference.keepings import hold_hot, time_out

__all__ = [
    "HOLD_MIN",
    "LONG_WAIT_MIN",
    "REST_MIN",
    "carve_line",
    "degrees",
    "form_of",
    "hold_minutes",
    "out_minutes",
    "rest_minutes",
    "wait_words",
]

#: Rest between fire and knife by form [min]; common practice, no published source. A whole cut
#: never rests less than the published 3 min, whatever stands here.
REST_MIN = {
    "steak": 5, "thin": 3, "patty": 0, "links": 2, "skewer": 3, "joint": 5, "roast": 15,
    "bird-flat": 10, "bird-whole": 15,
}  # fmt: skip
#: Longest wait between the rest and the table by form [min]; common practice, no published source.
HOLD_MIN = {
    "steak": 10, "thin": 5, "patty": 10, "links": 20, "skewer": 10, "joint": 20, "roast": 45,
    "bird-flat": 30, "bird-whole": 30,
}  # fmt: skip
#: Waits longer than this need heat [min]; common practice, no published source.
LONG_WAIT_MIN = 30
#: Food without meat goes from the fire to the plate within this [min]; common practice.
_MEAT_FREE_HOLD_MIN = 10
#: Piece from which meat told by no word is taken for a roast [0.001 lb].
_ROAST_MLB = 2000

# words of a name, the first that is found, and the form they tell
_FORM_WORDS = (
    (r"links?|sausages?", "links"),
    (r"skewers?|diced|kebabs?", "skewer"),
    (r"mince|patty|patties|burgers?|ground", "patty"),
    (r"hanger|skirt|flank|thin", "thin"),
    (r"steaks?|chops?|slices?|cutlets?", "steak"),
)
_BIRD_PARTS = r"thighs?|legs?|drumsticks?|wings?|breasts?"
_ROAST_WORDS = (
    r"leg|shoulder|brisket|roast|ribs?|shin|shank|neck|breast|loin|belly|fillet|tenderloin|saddle"
)


def _says(name: str, words: str) -> bool:
    return re.search(rf"\b({words})\b", name.casefold()) is not None


def form_of(item: FireItem) -> str:
    """Return the form of an item: that of its body, or the one its name and weight tell.

    Returns
    -------
    str
        One of `collop.fire.problem.FORMS`.

    Notes
    -----
    Only rests, waits, thaw and salt rest on a form read from a name; times on the fire never do.
    """
    if item.body is not None:
        return item.body.form
    if item.cook_as == "poultry" and not _says(item.name, r"mince|patty|patties|links?|diced"):
        if _says(item.name, _BIRD_PARTS) and not _says(item.name, "whole"):
            return "joint" if not _says(item.name, "breasts?") else "steak"
        return "bird-whole" if item.method in {"oven", "pot"} else "bird-flat"
    for words, form in _FORM_WORDS:
        if _says(item.name, words):
            return form
    large = (item.piece_mlb or 0) >= _ROAST_MLB
    if item.cook_as != "none" and (large or _says(item.name, _ROAST_WORDS)):
        return "roast"
    return "steak"


def rest_minutes(item: FireItem) -> int:
    """Return the rest of an item [min], never under that of its published minimum.

    Examples
    --------
    >>> from fractions import Fraction
    >>> chops = FireItem("C17", "Pork chops", "pork", "main", 3000, Fraction(114), "whole",
    ...                  "direct", minutes=(12, 18), rest_min=0)
    >>> rest_minutes(chops)
    3

    References
    ----------
    .. [1] USDA FSIS, Safe minimum internal temperatures. Source id ``FSIS_MIN``.
    """
    if item.cook_as == "none":
        return item.rest_min or 0
    usual = REST_MIN[form_of(item)] if item.rest_min is None else item.rest_min
    return max(usual, cook_minimum(item.cook_as).rest_min)


def hold_minutes(item: FireItem) -> int:
    """Return how long an item may wait between its rest and the table [min]."""
    if item.hold_min is not None:
        return item.hold_min
    return _MEAT_FREE_HOLD_MIN if item.cook_as == "none" else HOLD_MIN[form_of(item)]


def check_form(form: str) -> str:
    """Return `form`.

    Raises
    ------
    BadValue
        If it is none of `collop.fire.problem.FORMS`.
    """
    if form not in FORMS:
        raise BadValue(f"{form!r} is no form of a piece; use one of {', '.join(FORMS)}.")
    return form


def degrees(fahrenheit: Decimal, unit: str = "F", *, least: bool = True) -> str:
    """Return a published temperature in both units, whole degrees.

    Parameters
    ----------
    fahrenheit : Decimal
        As published [degF].
    unit : str
        ``F`` or ``C``: the one that is spoken first.
    least : bool
        True for a minimum, rounded up; false for a maximum, rounded down: never past the rule.

    Examples
    --------
    >>> degrees(Decimal(165)), degrees(Decimal(160), "C"), degrees(Decimal(70), least=False)
    ('165 °F (74 °C)', '72 °C (160 °F)', '70 °F (21 °C)')
    """
    way = ROUND_CEILING if least else ROUND_FLOOR
    one = Temperature.fahrenheit(fahrenheit)
    in_f = f"{one.in_fahrenheit(3).to_integral_value(way)} °F"
    in_c = f"{one.in_celsius(3).to_integral_value(way)} °C"
    return f"{in_c} ({in_f})" if unit == "C" else f"{in_f} ({in_c})"


def out_minutes(air_f: float | None = None) -> int:
    """Return how long food may be out of the fridge and off the heat in all [min].

    Examples
    --------
    >>> out_minutes(75), out_minutes(95), out_minutes(None)
    (120, 60, 120)

    References
    ----------
    .. [1] USDA FSIS, Serving temperatures and two-hour rule. Source id ``FSIS_SERVE``.
    """
    return int(time_out(air_f)[0] * 60)


def wait_words(
    wait_min: int, unit: str = "F", *, rest_min: int = 0, air_f: float | None = None
) -> str:
    """Return where done food waits for the table; empty if it does not wait.

    Up to 30 min a clean board will do (common practice, no published source), if that with its rest
    is within `out_minutes`; longer it is kept at the published temperature of hot holding.

    Parameters
    ----------
    wait_min, rest_min : int
        Wait after the rest, and the rest, off the heat both [min].
    unit : str
        ``F`` or ``C``: the one that is spoken first.
    air_f : float or None
        Of the air [degF].

    Examples
    --------
    >>> wait_words(12)
    'on a clean board under loose foil'
    >>> wait_words(45)
    'kept at 140 °F (60 °C) or above: in a low oven, or in foil in a cool box; probe it'

    References
    ----------
    .. [1] USDA FSIS, Serving temperatures and two-hour rule. Source id ``FSIS_SERVE``.
    """
    if wait_min <= 0:
        return ""
    if wait_min <= LONG_WAIT_MIN and rest_min + wait_min <= out_minutes(air_f):
        return "on a clean board under loose foil"
    warm = degrees(hold_hot()[0], unit)
    return f"kept at {warm} or above: in a low oven, or in foil in a cool box; probe it"
