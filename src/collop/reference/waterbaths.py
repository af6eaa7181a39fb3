"""Published times that meat is kept in a warm water bath until it is pasteurised.

References
----------
.. [1] D. E. Baldwin, Sous vide cooking: a review; and the practical guide tables, Int. J.
   Gastronomy and Food Science 1, 2012, Tables 4.1 and 5.1 as reprinted. Source id ``BALDWIN``.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from collop.reference.figures import Kind
from collop.reference.sources import Row
from collop.reference.tables import Column, Table, read_table

__all__ = ["WATER_BATHS", "WaterBathRow", "water_bath_rows"]

WATER_BATHS = Table(
    "cooking/sousvide_pasteurization_checks.csv",
    (
        Column("meat", required=True, choices=("beef/pork/lamb", "poultry")),
        Column("thickness_mm", kind=Kind.DECIMAL, required=True, low=1, high=200),
        Column("bath_c", kind=Kind.DECIMAL, required=True, low=50, high=100),
        Column("start_c", kind=Kind.DECIMAL, required=True, low=-2, high=30),
        Column("published_min", kind=Kind.DECIMAL, required=True, low=1, high=2000),
        Column("recomputed_min", kind=Kind.DECIMAL, low=1, high=2000),
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterBathRow(Row):
    """One published time in a water bath.

    Parameters
    ----------
    meat : str
        ``beef/pork/lamb`` or ``poultry``.
    thickness_mm : Decimal
        Of the piece [mm].
    bath_c, start_c : Decimal
        Temperature of the water, and of the meat when it goes in [degC].
    published_min : Decimal
        Time in the bath, rounded up by the source [min].
    recomputed_min : Decimal or None
        Worked out from the inputs in the note [min]; None where they were not seen.
    """

    meat: str
    thickness_mm: Decimal
    bath_c: Decimal
    start_c: Decimal
    published_min: Decimal
    recomputed_min: Decimal | None


@cache
def _rows() -> tuple[WaterBathRow, ...]:
    return tuple(
        WaterBathRow(
            meat=cells.text("meat"),
            thickness_mm=cells.decimal("thickness_mm"),
            bath_c=cells.decimal("bath_c"),
            start_c=cells.decimal("start_c"),
            published_min=cells.decimal("published_min"),
            recomputed_min=cells.decimal_or_none("recomputed_min"),
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
        )
        for cells in read_table(WATER_BATHS)
    )


def water_bath_rows(meat: str = "") -> tuple[WaterBathRow, ...]:
    """Return the times for a meat, of every meat if empty.

    Examples
    --------
    >>> len(water_bath_rows("beef/pork/lamb")), len(water_bath_rows("poultry"))
    (66, 99)
    """
    return tuple(row for row in _rows() if meat in ("", row.meat))
