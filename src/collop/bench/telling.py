"""How the plan writes figures."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from collop.bench.problem import Cut
from collop.bench.weights import CutDay
from collop.measures import decimal_of

__all__ = ["day_rows", "decimal", "number", "weight_text"]


def decimal(value: Fraction, places: int) -> str:
    """Return a decimal without closing zeros, rounded half up to `places`."""
    text = f"{decimal_of(value, places):f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def number(value: Fraction, places: int) -> float:
    """Return a plain number rounded half up."""
    return float(decimal_of(value, places))


def weight_text(weight: Fraction) -> str:
    """Return a weight of whole thousandths as a decimal, exactly.

    Examples
    --------
    >>> weight_text(Fraction(5, 2)), weight_text(Fraction(0))
    ('2.5', '0')
    """
    return decimal(weight, 3)


def day_rows(cut: Cut, days: Sequence[CutDay]) -> list[dict[str, Any]]:
    """Return one row for each day of a cut."""
    return [
        {
            "day": at,
            "in": weight_text(day.came),
            "booked": weight_text(day.booked),
            "sold": weight_text(sum(day.sold.values(), Fraction(0))),
            "at": [
                {"step": decimal(cut.steps[step], 6), "weight": weight_text(weight)}
                for step, weight in sorted(day.sold.items())
            ],
            "ground": weight_text(day.ground),
            "spoilt": weight_text(day.spoilt),
            "on_hand": weight_text(day.on_hand),
        }
        for at, day in enumerate(days)
    ]
