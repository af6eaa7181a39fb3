"""Figures that a calculation of heat in meat is held against: printed tables and worked problems.

References
----------
.. [1] Cengel and Ghajar, Heat and Mass Transfer, Table 4-2: first roots and coefficients.
   Source id ``CENGEL_T42``. Other sources are named by their rows.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from collop.reference.figures import Kind
from collop.reference.sources import Row
from collop.reference.tables import Cells, Column, Table, read_table

__all__ = ["CONDUCTION_CHECKS", "ConductionCheckRow", "conduction_check_rows"]

KINDS = ("one_term", "worked_example", "surface", "calibration")
CONDUCTION_CHECKS = Table(
    "cooking/conduction_checks.csv",
    (
        Column("kind", required=True, choices=KINDS),
        Column("case"),
        Column("geometry", choices=("", "slab", "cylinder", "sphere")),
        # one root is that of an infinite Biot number, and one value is printed with an exponent
        Column("Bi"),
        Column("lambda1", kind=Kind.DECIMAL, low=0, high=4),
        Column("C1", kind=Kind.DECIMAL, low=1, high=3),
        Column("input"),
        Column("quantity"),
        Column("value"),
        Column("value_high"),
        Column("unit"),
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ConductionCheckRow(Row):
    """One figure to be held against.

    Parameters
    ----------
    kind : str
        ``one_term``, ``worked_example``, ``surface`` or ``calibration``.
    case, inputs, quantity, unit : str
        As in the table.
    geometry : str
        ``slab``, ``cylinder``, ``sphere`` or empty.
    biot : Decimal or None
        Biot number of a one-term row; may be infinite.
    root, coefficient : Decimal or None
        First root and its coefficient, of a one-term row.
    value, value_high : Decimal or None
        The figure, and a second one where there are two.
    """

    kind: str
    case: str
    geometry: str
    biot: Decimal | None
    root: Decimal | None
    coefficient: Decimal | None
    inputs: str
    quantity: str
    value: Decimal | None
    value_high: Decimal | None
    unit: str


def _figure(cells: Cells, name: str) -> Decimal | None:
    text = cells.text(name)
    return Decimal(text) if text else None


@cache
def _rows() -> tuple[ConductionCheckRow, ...]:
    return tuple(
        ConductionCheckRow(
            kind=cells.text("kind"),
            case=cells.text("case"),
            geometry=cells.text("geometry"),
            biot=_figure(cells, "Bi"),
            root=cells.decimal_or_none("lambda1"),
            coefficient=cells.decimal_or_none("C1"),
            inputs=cells.text("input"),
            quantity=cells.text("quantity"),
            value=_figure(cells, "value"),
            value_high=_figure(cells, "value_high"),
            unit=cells.text("unit"),
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
        )
        for cells in read_table(CONDUCTION_CHECKS)
    )


def conduction_check_rows(
    kind: str = "", *, cited_only: bool = False
) -> tuple[ConductionCheckRow, ...]:
    """Return the rows of a kind, all of them by default."""
    return tuple(
        row for row in _rows() if kind in ("", row.kind) and (row.is_cited or not cited_only)
    )
