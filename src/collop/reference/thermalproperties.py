"""Published thermal properties of meat: component equations, measured values, worked examples.

References
----------
.. [1] Choi and Okos, Effects of temperature and composition on the thermal properties of foods, in
   Food Engineering and Process Applications 1, Elsevier, 1986. Source id ``CHOI_OKOS``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from collop.errors import ReferenceTableError
from collop.reference.figures import Kind
from collop.reference.sources import Row
from collop.reference.tables import Cells, Column, Table, read_table

__all__ = ["THERMAL_PROPERTIES", "ThermalRow", "thermal_rows"]

THERMAL_PROPERTIES = Table(
    "cooking/thermal_properties.csv",
    (
        Column(
            "kind", required=True,
            choices=("component_poly", "rule", "composition", "measured", "example"),
        ),
        Column("item", required=True),
        Column("property", required=True),
        Column("unit"),
        # written with powers of ten in the table: read as text, then checked
        Column("a0"),
        Column("a1"),
        Column("a2"),
        Column("t_min_c", kind=Kind.DECIMAL, low=-80, high=200),
        Column("t_max_c", kind=Kind.DECIMAL, low=-80, high=200),
        Column("value"),
        Column("value_high"),
        Column("temp_c"),
        Column("water_pct"),
        Column("protein_pct", kind=Kind.DECIMAL, low=0, high=100),
        Column("fat_pct", kind=Kind.DECIMAL, low=0, high=100),
        Column("ash_pct", kind=Kind.DECIMAL, low=0, high=100),
    ),
)  # fmt: skip
_FIGURE = re.compile(r"-?\d{1,8}(\.\d{1,8})?(e-\d{2})?", re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True)
class ThermalRow(Row):
    """One published property.

    Parameters
    ----------
    kind : str
        ``component_poly``, ``rule``, ``composition``, ``measured`` or ``example``.
    item, quantity, unit : str
        Of what, which property, and its unit as in the table.
    a0, a1, a2 : Decimal or None
        Of ``a0 + a1 t + a2 t^2`` with t in degC, valid from `t_min_c` to `t_max_c`.
    t_min_c, t_max_c : Decimal or None
        Range of the equation [degC].
    value, value_high : Decimal or None
        The figure, or the ends of a range.
    temp_c, water_pct : str
        At what temperature [degC] and water [%]; a figure or a range.
    protein_pct, fat_pct, ash_pct : Decimal or None
        Composition [%].
    """

    kind: str
    item: str
    quantity: str
    unit: str
    a0: Decimal | None
    a1: Decimal | None
    a2: Decimal | None
    t_min_c: Decimal | None
    t_max_c: Decimal | None
    value: Decimal | None
    value_high: Decimal | None
    temp_c: str
    water_pct: str
    protein_pct: Decimal | None
    fat_pct: Decimal | None
    ash_pct: Decimal | None


def _figure(cells: Cells, name: str) -> Decimal | None:
    """Return a figure that may have a power of ten, None if the cell is empty."""
    text = cells.text(name)
    if not text:
        return None
    if not _FIGURE.fullmatch(text):
        raise ReferenceTableError(
            f"{THERMAL_PROPERTIES.path}, column {name}: {text[:40]!r} is no figure; correct it."
        )
    return Decimal(text)


@cache
def _rows() -> tuple[ThermalRow, ...]:
    return tuple(
        ThermalRow(
            kind=cells.text("kind"),
            item=cells.text("item"),
            quantity=cells.text("property"),
            unit=cells.text("unit"),
            t_min_c=cells.decimal_or_none("t_min_c"),
            t_max_c=cells.decimal_or_none("t_max_c"),
            temp_c=cells.text("temp_c"),
            water_pct=cells.text("water_pct"),
            protein_pct=cells.decimal_or_none("protein_pct"),
            fat_pct=cells.decimal_or_none("fat_pct"),
            ash_pct=cells.decimal_or_none("ash_pct"),
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
            **{name: _figure(cells, name) for name in ("a0", "a1", "a2", "value", "value_high")},
        )
        for cells in read_table(THERMAL_PROPERTIES)
    )


def thermal_rows(
    kind: str = "", *, quantity: str = "", item: str = "", cited_only: bool = False
) -> tuple[ThermalRow, ...]:
    """Return published rows.

    Parameters
    ----------
    kind, quantity, item : str
        Only the rows with this kind, property and item; all if empty.
    cited_only : bool
        Leave out what was recalled and not read.

    Examples
    --------
    >>> thermal_rows("component_poly", item="protein", quantity="density")[0].a0
    Decimal('1329.9')
    """
    return tuple(
        row
        for row in _rows()
        if kind in ("", row.kind)
        and quantity in ("", row.quantity)
        and item in ("", row.item)
        and (row.is_cited or not cited_only)
    )
