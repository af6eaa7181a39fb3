"""How much weight meat loses to heat at a temperature, as published and as computed from it.

References
----------
.. [1] Feyissa, Gernaey, Adler-Nissen, 3D modelling of coupled mass and heat transfer of a
   convection-oven roasting process, Meat Science 93, 2013. Source id ``FEYISSA``. Other sources
   are named by their rows.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from math import exp

from collop.errors import ReferenceTableError
from collop.reference.figures import Kind, Span
from collop.reference.sources import Row
from collop.reference.tables import Column, Table, read_table

__all__ = ["SHRINK", "ShrinkRow", "shrink_rows", "water_loss_pct"]

SHRINK = Table(
    "cooking/evaporation_or_shrink.csv",
    (
        Column("kind", required=True, choices=("parameter", "curve", "data")),
        Column("item", required=True),
        Column("temp_c", kind=Kind.SPAN, low=40, high=100),
        Column("loss_pct", kind=Kind.DECIMAL, low=0, high=50),
        Column("loss_high_pct", kind=Kind.DECIMAL, low=0, high=50),
        Column("value"),
        Column("unit"),
        Column("formula"),
    ),
    low_high=("loss_pct", "loss_high_pct"),
)
_AT = "water-holding curve: "


@dataclass(frozen=True, slots=True, kw_only=True)
class ShrinkRow(Row):
    """One published loss, constant or point of the curve.

    Parameters
    ----------
    kind : str
        ``parameter``, ``curve`` or ``data``.
    item, value, unit : str
        As in the table; `value` is that of a parameter.
    temp_c : Span or None
        Temperature [degC].
    loss_pct, loss_high_pct : Decimal or None
        Of the raw weight [%].
    """

    kind: str
    item: str
    temp_c: Span | None
    loss_pct: Decimal | None
    loss_high_pct: Decimal | None
    value: str
    unit: str


@cache
def shrink_rows() -> tuple[ShrinkRow, ...]:
    """Return every row of the table."""
    return tuple(
        ShrinkRow(
            kind=cells.text("kind"),
            item=cells.text("item"),
            temp_c=cells.span_or_none("temp_c"),
            loss_pct=cells.decimal_or_none("loss_pct"),
            loss_high_pct=cells.decimal_or_none("loss_high_pct"),
            value=cells.text("value"),
            unit=cells.text("unit"),
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
        )
        for cells in read_table(SHRINK)
    )


@cache
def _constants() -> tuple[float, float, float, float, float]:
    found = {row.item.removeprefix(_AT): row for row in shrink_rows() if row.item.startswith(_AT)}
    try:
        rows = [found[name] for name in ("a1", "a2", "a3", "a4", "T_sigma")]
    except KeyError as missing:
        raise ReferenceTableError(f"{SHRINK.path} has no row {missing}; restore it.") from None
    a1, a2, a3, a4, t_sigma = (float(row.value) for row in rows)
    return a1, a2, a3, a4, t_sigma


def water_loss_pct(temp_c: float) -> float:
    """Return the water that beef cannot hold at a temperature, in percent of its raw weight.

    Parameters
    ----------
    temp_c : float
        Highest temperature the place reached [degC].

    Returns
    -------
    float
        100 (C(20) - C(T)) with C(T) = a1 - a2 / (1 + a3 exp(-a4 (T - T_sigma))) [%]; local, without
        surface evaporation and fat: average it over a piece.

    Examples
    --------
    >>> round(water_loss_pct(60.0), 1)
    6.8
    """
    a1, a2, a3, a4, t_sigma = _constants()

    def held(at: float) -> float:
        return a1 - a2 / (1.0 + a3 * exp(-a4 * (at - t_sigma)))

    return 100.0 * (held(20.0) - held(temp_c))
