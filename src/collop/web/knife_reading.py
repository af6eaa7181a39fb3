"""Reading the weights of the bench: in the device's unit, one or several at a time."""

from __future__ import annotations

import re

from fastapi import Request

from collop.errors import BadValue
from collop.measures import Weight, WeightUnit, parse_weight
from collop.web.forms import Fields
from collop.web.rendering import shown_for

__all__ = ["read_weight", "read_weights", "unit_of"]

MOST_WEIGHTS = 12
_LONGEST = 200
_UNIT = re.compile(r"[a-z]+")
# an amount with its unit, as a scale sends it; fractions keep their slash
_WITH_UNIT = re.compile(r"[0-9.,/\s¼½¾⅓⅔⅛]+[a-z]+\.?", re.IGNORECASE)


def unit_of(request: Request, fields: Fields | None = None) -> WeightUnit:
    """Return the unit the labels name: that of the form sent, else of the device."""
    shown = shown_for(request).unit
    if fields is not None:
        shown = fields.one("unit", shown)
    return WeightUnit.KG if shown == "kg" else WeightUnit.LB


def read_weight(text: str, label: str, unit: WeightUnit) -> Weight:
    """Read one weight in `unit`, unless it brings its own.

    Raises
    ------
    BadValue
        If it is empty or no weight.
    """
    if not text:
        raise BadValue(f"{label}: enter what the scale says, for example 4.15.")
    try:
        return parse_weight(text[:_LONGEST], unit)
    except BadValue:
        raise BadValue(f"{label}: write the weight like 4.15, 2 lb 12 oz or 1.88 kg.") from None


def read_weights(text: str, label: str, unit: WeightUnit) -> tuple[Weight, ...]:
    """Read one weight, or several with a plus or a space between: ``4.1 + 4.2``.

    A unit that comes a second time begins a new piece, so ``4.1 lb 4.2 lb`` are two pieces and
    ``2 lb 12 oz`` is one.

    Raises
    ------
    BadValue
        If any of them is no weight, or there are more than twelve.
    """
    pieces = [one for part in text.split("+") for one in _split(part.strip(), unit)]
    if len(pieces) > MOST_WEIGHTS:
        raise BadValue(f"{label}: write at most {MOST_WEIGHTS} weights at a time.")
    return tuple(read_weight(one, label, unit) for one in pieces)


def _split(text: str, unit: WeightUnit) -> list[str]:
    """Return the texts of the pieces in a text without a plus."""
    groups = _WITH_UNIT.findall(text)
    if groups and not _WITH_UNIT.sub("", text).strip():
        return _by_unit(groups)
    try:
        parse_weight(text, unit)
    except BadValue:
        return text.split() or [text]
    return [text]


def _by_unit(groups: list[str]) -> list[str]:
    pieces: list[str] = []
    seen: set[str] = set()
    for group in groups:
        words = set(_UNIT.findall(group.lower()))
        if not pieces or words & seen:
            pieces.append("")
            seen = set()
        pieces[-1] = f"{pieces[-1]} {group}".strip()
        seen |= words
    return pieces
