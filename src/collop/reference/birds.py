"""What a chicken divides into, as published.

References
----------
.. [1] Study of ten cut-up chicken carcasses, 1998, as quoted by the Australian Chicken Meat
   Federation: half-carcass weights. Source id ``FSANZCHK``. Other sources are named by their rows.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from collop.errors import BadValue
from collop.reference.figures import Kind, Span
from collop.reference.sources import Row
from collop.reference.tables import Column, Table, read_table

__all__ = ["CHICKEN_PARTS", "ChickenPart", "chicken_parts"]


def _grams(name: str) -> Column:
    return Column(name, kind=Kind.WHOLE, low=0, high=5000)


CHICKEN_PARTS = Table(
    "yields/chicken_parts_yield.csv",
    (
        Column("table_id", required=True),
        Column("species", required=True, choices=("chicken",)),
        Column("base", required=True),
        Column("base_weight", kind=Kind.SPAN, low=0, high=5000),
        Column("part", required=True),
        Column("weight", kind=Kind.SPAN, low=0, high=5000),
        Column("unit", choices=("g", "lb", "")),
        Column("pct_of_base", kind=Kind.SPAN, low=0, high=100),
        _grams("lean_meat"),
        _grams("skin"),
        _grams("bone"),
        Column("bone_pct_of_part", kind=Kind.DECIMAL, low=0, high=100),
        Column("kind", required=True),
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ChickenPart(Row):
    """One part of a bird.

    Parameters
    ----------
    table_id : str
        Rows of two tables are never mixed.
    base, part, unit, kind : str
        As in the table; `unit` is of `weight`.
    weight, pct_of_base : Span or None
        Weight [`unit`] and share [%] of the base.
    lean, skin, bone : int or None
        Weights within the part [g].
    """

    table_id: str
    base: str
    part: str
    unit: str
    kind: str
    weight: Span | None
    pct_of_base: Span | None
    lean: int | None
    skin: int | None
    bone: int | None

    def bone_fraction(self) -> Fraction:
        """Return bone over part, bone being the weight less lean meat and skin.

        Raises
        ------
        BadValue
            If the row does not hold the three weights.
        """
        if self.weight is None or self.lean is None or self.skin is None:
            raise BadValue(f"{self.part}: lean meat and skin were not weighed; use another row.")
        whole = Fraction(self.weight.low)
        return (whole - self.lean - self.skin) / whole


@cache
def _rows() -> tuple[ChickenPart, ...]:
    return tuple(
        ChickenPart(
            table_id=cells.text("table_id"),
            base=cells.text("base"),
            part=cells.text("part"),
            unit=cells.text("unit"),
            kind=cells.text("kind"),
            weight=cells.span_or_none("weight"),
            pct_of_base=cells.span_or_none("pct_of_base"),
            lean=cells.whole_or_none("lean_meat"),
            skin=cells.whole_or_none("skin"),
            bone=cells.whole_or_none("bone"),
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
        )
        for cells in read_table(CHICKEN_PARTS)
    )


def chicken_parts(table_id: str = "", *, kind: str = "") -> tuple[ChickenPart, ...]:
    """Return the parts of one table.

    Parameters
    ----------
    table_id : str
        E.g. ``CHICKEN_HALF_1998``; every table if empty.
    kind : str
        E.g. ``part`` or ``total``; every kind if empty.
    """
    return tuple(
        row for row in _rows() if table_id in ("", row.table_id) and kind in ("", row.kind)
    )
