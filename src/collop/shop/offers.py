"""The free case as offers: plain JSON that a spread can be chosen from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

from collop.measures import UnitPrice, Weight, WeightUnit
from collop.shop.board import price_text
from collop.shop.fire_cooks import cook_as_told, minutes_of
from collop.shop.fire_problem import offer_cook
from collop.shop.model import CaseLine
from collop.shop.picking import piece_text

__all__ = ["offers_of"]

_LB_IN_KG = Decimal("0.45359237")
# the spread contract reads a worth of 0 as one that nobody knows
_KNOWN_ZERO = "0.01"


def _floor_lb(weight: Weight) -> str:
    """Return pounds with two decimals, cut off: an offer never says more than is free."""
    hundredths = weight.exact(WeightUnit.LB) * 100
    return f"{Decimal(hundredths.numerator // hundredths.denominator).scaleb(-2)}"


def _per_lb(price: UnitPrice) -> str:
    """Return the exact price per pound; one per kg times 0.45359237 has finite decimals."""
    if price.per is WeightUnit.LB:
        return price_text(price)
    return price_text(UnitPrice(price.amount * _LB_IN_KG, WeightUnit.LB, price.currency))


def _worth_per_lb(worth: Decimal | None, unit: WeightUnit) -> str:
    """Return the exact worth of a pound more; "0" is not known, so a known 0 is `_KNOWN_ZERO`."""
    if worth is None:
        return "0"
    if worth <= 0:
        return _KNOWN_ZERO
    per_lb = worth if unit is WeightUnit.LB else worth * _LB_IN_KG
    return f"{per_lb.normalize():f}"


def _number(value: Decimal) -> int | float:
    return int(value) if Fraction(value).denominator == 1 else float(value)


def _is_offered(line: CaseLine) -> bool:
    return bool(line.styles) and line.boneless_fraction > 0 and not line.is_past


def _offer(line: CaseLine, side: Weight | None, worth: str) -> dict[str, Any]:
    free = _floor_lb(line.free)
    pieces = None
    if line.piece_lb is not None:
        pieces = [piece_text(piece) for piece in line.piece_lb]
    return {
        "id": line.id,
        "name": line.name,
        "species": line.species,
        "contains": list(line.contains),
        "casing": line.casing,
        "price_per_lb": _per_lb(line.price),
        "free_lb": free,
        "pieces_lb": pieces,
        "frozen_lb": free if line.form == "frozen" else "0",
        "boneless_fraction": float(line.boneless_fraction),
        "grill_sq_in_per_lb": _number(line.grill_sq_in_per_lb),
        "minutes": list(minutes_of(line)),
        "method": line.method,
        "styles": list(line.styles),
        "slots": list(line.slots),
        "eating": dict(line.styles),
        "worth_per_lb": worth,
        "days_left": line.days_left,
        "cover_days": None if line.cover_days is None else float(line.cover_days),
        "on_hand_lb": _floor_lb(line.on_hand),
        "neighbour": line.neighbour,
        "cook_as": cook_as_told(line),
        "side_lb": None if side is None else _floor_lb(side),
        "cook": offer_cook(line),
    }


def offers_of(
    lines: Iterable[CaseLine],
    sides: Mapping[str, Weight] | None = None,
    worths: Mapping[str, Decimal] | None = None,
    unit: WeightUnit = WeightUnit.LB,
) -> list[dict[str, Any]]:
    """Return the offers of the spread contract: free stock only, weights and prices as strings.

    Lines without free weight, past their use-by, or without a dish style (stock bones) are left
    out.

    Parameters
    ----------
    lines : iterable of CaseLine
        The case.
    sides : mapping of str to Weight, optional
        What one side of its animal gives of a line, by its id.
    worths : mapping of str to Decimal, optional
        What one more `unit` of a line is worth by the cutting plan, by its id; a line that is not
        in it has none that is known. A known worth of nothing is told as 0.01 a pound.
    unit : WeightUnit
        Unit of `worths`: pound or kilogram.
    """
    found, known = sides or {}, worths or {}
    return [
        _offer(line, found.get(line.id), _worth_per_lb(known.get(line.id), unit))
        for line in lines
        if _is_offered(line) and _floor_lb(line.free) != "0.00"
    ]
