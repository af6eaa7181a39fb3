"""Unit-conversion reference, International avoirdupois pound definition (POUND)."""

from __future__ import annotations

from decimal import Decimal

from collop.measures import UnitPrice, Weight, WeightUnit
from collop.reference import conversion_rows

(POUND,) = (row for row in conversion_rows() if row.source.source_id == "POUND")


def test_a_pound_is_the_defined_mass():
    """International avoirdupois pound (seen): 1 lb = 0.45359237 kg exactly."""
    assert POUND.is_cited
    assert Weight.of(POUND.figure, WeightUnit.KG) == Weight.of(1, WeightUnit.LB)
    assert Weight.of(1, WeightUnit.LB).decimal(WeightUnit.G, 5) == Decimal("453.59237")


def test_a_price_a_pound_is_shown_a_kilogram():
    """International avoirdupois pound (seen): 8.40 / 0.45359237 = 18.5188, shown as 18.52."""
    price = UnitPrice.of("8.40", WeightUnit.LB)
    assert price.shown_per(WeightUnit.KG) == round(Decimal("8.40") / POUND.figure, 2)
    assert str(price.shown_per(WeightUnit.KG)) == "18.52"


def test_a_line_is_the_same_by_pounds_and_by_kilograms():
    """International avoirdupois pound (seen): 4.85 lb is 2.1999229945 kg and costs 40.74."""
    pounds = Weight.of("4.85", WeightUnit.LB)
    kilograms = Weight.of(Decimal("4.85") * POUND.figure, WeightUnit.KG)
    price = UnitPrice.of("8.40", WeightUnit.LB)
    assert str(price.line(pounds)) == str(price.line(kilograms)) == "40.74"
