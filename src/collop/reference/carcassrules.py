"""Dressing, shrink, ageing and yield-grade figures of carcasses, as published.

References
----------
.. [1] Beef Improvement Federation, Guidelines: Final Calculated Yield Grade. Source id ``BIFYG``.
.. [2] Dry aging of beef; Review, Table 1, Journal of Animal Science and Technology 58, 2016.
   Source id ``DRYREV``. Other sources are named by their rows.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from collop.reference.figures import Kind
from collop.reference.sources import Row
from collop.reference.tables import Cells, Column, Table, read_table

__all__ = ["CARCASS_RULES", "RuleRow", "carcass_rules"]

CARCASS_RULES = Table(
    "yields/carcass_rules.csv",
    (
        Column("quantity", required=True),
        Column("species", required=True, choices=("beef", "pork", "lamb", "chicken")),
        Column("value"),
        Column("unit", required=True),
        Column("low", kind=Kind.DECIMAL),
        Column("high", kind=Kind.DECIMAL),
        Column("inputs"),
    ),
    low_high=("low", "high"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleRow(Row):
    """One published figure, range, formula or worked example.

    Parameters
    ----------
    quantity, species, unit, inputs : str
        What it is, and what it holds for.
    value : str
        A figure, or words; empty where only a range is published.
    low, high : Decimal or None
        The published range [`unit`]; negative where a carcass gains.
    """

    quantity: str
    species: str
    value: str
    unit: str
    low: Decimal | None
    high: Decimal | None
    inputs: str

    @property
    def figure(self) -> Decimal | None:
        """Return the figure, None if the value is words or empty."""
        plain = re.fullmatch(r"-?\d+(\.\d+)?", self.value, re.ASCII)
        return Decimal(self.value) if plain else None

    @property
    def ends(self) -> tuple[Decimal, Decimal] | None:
        """Return the lower and upper end; both the figure where there is no range."""
        if self.low is not None and self.high is not None:
            return self.low, self.high
        return None if self.figure is None else (self.figure, self.figure)


def _row(cells: Cells) -> RuleRow:
    return RuleRow(
        quantity=cells.text("quantity"),
        species=cells.text("species"),
        value=cells.text("value"),
        unit=cells.text("unit"),
        low=cells.decimal_or_none("low"),
        high=cells.decimal_or_none("high"),
        inputs=cells.text("inputs"),
        source=cells.origin(),
        status=cells.status(),
        note=cells.text("note"),
    )


@cache
def _rows() -> tuple[RuleRow, ...]:
    return tuple(_row(cells) for cells in read_table(CARCASS_RULES))


def carcass_rules(
    quantity: str = "",
    *,
    species: str = "",
    words: str = "",
    source_id: str = "",
    cited_only: bool = False,
) -> tuple[RuleRow, ...]:
    """Return the figures of one quantity.

    Parameters
    ----------
    quantity, species, source_id : str
        As in the table; every one if empty.
    words : str
        Must stand in the inputs, in any case.
    cited_only : bool
        Whether rows from memory are left out.

    Examples
    --------
    >>> [row.ends for row in carcass_rules("cooler_shrink_24h", species="beef")]
    [(Decimal('2'), Decimal('5'))]
    """
    return tuple(
        row
        for row in _rows()
        if quantity in ("", row.quantity)
        and species in ("", row.species)
        and source_id in ("", row.source.source_id)
        and words.casefold() in row.inputs.casefold()
        and (row.is_cited or not cited_only)
    )
