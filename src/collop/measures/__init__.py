"""Exact weight, money, unit price and temperature: parsing, conversion, one rounding rule."""

from collop.measures.money import Money, UnitPrice, minor_places, sum_money
from collop.measures.rounding import Rounding, round_fraction
from collop.measures.temperature import Temperature, TemperatureDifference
from collop.measures.weight import Weight, WeightUnit, decimal_of, parse_weight

__all__ = [
    "Money",
    "Rounding",
    "Temperature",
    "TemperatureDifference",
    "UnitPrice",
    "Weight",
    "WeightUnit",
    "decimal_of",
    "minor_places",
    "parse_weight",
    "round_fraction",
    "sum_money",
]
