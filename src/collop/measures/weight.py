"""Exact weight.

A weight is a whole count of 1e-11 kg. With 1 lb = 0.45359237 kg by definition, 0.001 lb is
45 359 237 counts and 1 g is 100 000 000, so every reading of a pound or gram scale is exact and
changing units moves nothing.

References
----------
.. [1] NIST, Handbook 44, Appendix C, "General Tables of Units of Measurement":
   1 pound avoirdupois = 453.59237 grams exactly; 16 ounces = 1 pound.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from functools import total_ordering

from collop.errors import BadValue
from collop.measures.rounding import Rounding, exact_fraction, round_fraction

__all__ = ["Weight", "WeightUnit", "decimal_of", "parse_weight"]


class WeightUnit(StrEnum):
    """Unit a weight was read in."""

    LB = "lb"
    OZ = "oz"
    KG = "kg"
    G = "g"


_COUNT_PER: dict[WeightUnit, Fraction] = {
    WeightUnit.LB: Fraction(45_359_237_000),
    WeightUnit.OZ: Fraction(45_359_237_000, 16),
    WeightUnit.KG: Fraction(10**11),
    WeightUnit.G: Fraction(10**8),
}


def decimal_of(value: Fraction, places: int, rule: Rounding = Rounding.HALF_UP) -> Decimal:
    """Round an exact value to `places` decimals, for display or JSON."""
    return Decimal(round_fraction(value * 10**places, rule)).scaleb(-places)


@total_ordering
@dataclass(frozen=True, slots=True, eq=False)
class Weight:
    """A net weight.

    Parameters
    ----------
    count : int
        Whole number of 1e-11 kg; may be negative (a ledger delta).
    unit : WeightUnit
        Unit it was weighed in; display and pricing start from it. It does not take part in
        comparison: 1 lb equals 453.59237 g.

    Examples
    --------
    >>> Weight.of("4.85", WeightUnit.LB).text(WeightUnit.KG, 2)
    '2.20 kg'
    """

    count: int
    unit: WeightUnit = WeightUnit.LB

    @classmethod
    def of(cls, amount: Decimal | Fraction | int | str, unit: WeightUnit) -> Weight:
        """Read `amount` in `unit`; ounces, alone, are held to the nearest count.

        Raises
        ------
        BadValue
            If the amount is no number or is finer than 1e-11 kg can hold.
        """
        try:
            read = exact_fraction(amount)
        except ValueError:
            raise BadValue(f"{amount!r} is not a weight; write a number such as 4.85.") from None
        exact = read * _COUNT_PER[unit]
        if unit is WeightUnit.OZ and (read * 1000).denominator == 1:
            # an odd ounce ends on half a count (5e-12 kg); no scale here sells by the ounce
            exact = Fraction(round_fraction(exact))
        if exact.denominator != 1:
            raise BadValue(f"{amount} {unit} is finer than a scale can read; use 0.001 steps.")
        return cls(int(exact), unit)

    @classmethod
    def zero(cls, unit: WeightUnit = WeightUnit.LB) -> Weight:
        """Return no weight at all."""
        return cls(0, unit)

    def exact(self, unit: WeightUnit) -> Fraction:
        """Return the exact amount in `unit`."""
        return Fraction(self.count) / _COUNT_PER[unit]

    def decimal(self, unit: WeightUnit, places: int = 2) -> Decimal:
        """Return the amount in `unit`, rounded half up to `places` for display."""
        return decimal_of(self.exact(unit), places)

    def text(self, unit: WeightUnit | None = None, places: int = 2) -> str:
        """Return e.g. ``4.85 lb``."""
        shown = unit or self.unit
        return f"{self.decimal(shown, places)} {shown}"

    def __add__(self, other: Weight) -> Weight:
        return Weight(self.count + other.count, self.unit)

    def __sub__(self, other: Weight) -> Weight:
        return Weight(self.count - other.count, self.unit)

    def __neg__(self) -> Weight:
        return Weight(-self.count, self.unit)

    def __mul__(self, times: int) -> Weight:
        return Weight(self.count * times, self.unit)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Weight) and self.count == other.count

    def __lt__(self, other: Weight) -> bool:
        return self.count < other.count

    def __hash__(self) -> int:
        return hash(self.count)

    def __bool__(self) -> bool:
        return self.count != 0


_VULGAR = {"¼": "1/4", "½": "1/2", "¾": "3/4", "⅓": "1/3", "⅔": "2/3", "⅛": "1/8"}
_UNIT_WORDS = {
    "lb": WeightUnit.LB, "lbs": WeightUnit.LB, "pound": WeightUnit.LB, "pounds": WeightUnit.LB,
    "oz": WeightUnit.OZ, "ounce": WeightUnit.OZ, "ounces": WeightUnit.OZ,
    "kg": WeightUnit.KG, "kilo": WeightUnit.KG, "kilos": WeightUnit.KG,
    "g": WeightUnit.G, "gram": WeightUnit.G, "grams": WeightUnit.G,
}  # fmt: skip
_PART = re.compile(
    # a comma before three digits may mean thousands or thousandths, so it is not read
    r"(?:(?P<whole>\d+(?:\.\d+|,\d\d?(?!\d))?)(?!/|\d))?\s*(?P<frac>\d+/\d*[1-9]\d*)?\s*"
    r"(?P<unit>[a-z]+)?\s*",
    re.ASCII,
)
_LONGEST_TEXT = 40


def parse_weight(text: str, default: WeightUnit = WeightUnit.LB) -> Weight:
    """Read a weight as people write it: ``1.25 kg``, ``2 lb 12 oz``, ``2¾ lb``, ``1,25kg``.

    Raises
    ------
    BadValue
        If the text is no weight.

    Examples
    --------
    >>> parse_weight("2 lb 12 oz") == parse_weight("2¾ lb")
    True
    """
    rest = text.strip().lower()
    for sign, ascii_form in _VULGAR.items():
        rest = rest.replace(sign, f" {ascii_form} ")
    rest = re.sub(r"\s+", " ", rest).strip()
    failure = BadValue(f"{text[:40]!r} is not a weight; write it like 4.85, 2 lb 12 oz or 1.25 kg.")
    if not rest or len(rest) > _LONGEST_TEXT:
        raise failure
    total: Weight | None = None
    while rest:
        match = _PART.match(rest)
        if match is None or not (match["whole"] or match["frac"]):
            raise failure
        is_part = total is not None or match.end() < len(rest)
        if is_part and not match["unit"]:  # "1 lb 4" may mean ounces: do not guess
            raise failure
        unit = _UNIT_WORDS.get(match["unit"] or default.value)
        if unit is None:
            raise failure
        amount = Fraction((match["whole"] or "0").replace(",", "."))
        amount += Fraction(match["frac"] or "0")
        part = Weight(round_fraction(amount * _COUNT_PER[unit]), unit)
        total = part if total is None else total + part
        rest = rest[match.end() :]
    assert total is not None
    return total
