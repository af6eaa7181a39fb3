"""The published conversions between pound and kilogram, and worked prices.

The product computes with `collop.measures`; these rows are what it is checked against.

References
----------
.. [1] International avoirdupois pound definition: 1 lb = 0.45359237 kg. Source id ``POUND``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from collop.reference.rulebook import TAX_PRICE
from collop.reference.sources import Row
from collop.reference.tables import read_table

__all__ = ["ConversionRow", "conversion_rows"]

_TOPIC = "conversion"


@dataclass(frozen=True, slots=True, kw_only=True)
class ConversionRow(Row):
    """One conversion or worked example; `value` is a figure or words, as in the table."""

    rule_id: str
    topic: str
    rule: str
    value: str
    unit: str
    worked_inputs: str
    worked_result: str

    @property
    def figure(self) -> Decimal | None:
        """Return `value` as a number, None if it is words."""
        plain = re.fullmatch(r"\d+(\.\d+)?", self.value, re.ASCII)
        return Decimal(self.value) if plain else None


@cache
def conversion_rows() -> tuple[ConversionRow, ...]:
    """Return the conversions in the order of the table."""
    names = tuple(column.name for column in TAX_PRICE.columns)
    return tuple(
        ConversionRow(
            **{name: cells.text(name) for name in names},
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
        )
        for cells in read_table(TAX_PRICE)
        if cells.text("topic") == _TOPIC
    )
