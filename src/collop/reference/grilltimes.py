"""How long meat takes on a grill, in an oven or in a pan, and how far it rises after, as published.

The charts are what the fire's own times are held against. They never rule a temperature: a chart's
end temperature may be older than the published minimum.

References
----------
.. [1] National Cattlemen's Beef Association, Grilling Guidelines (charcoal and gas), c. 2010-2015.
   Source id ``NCBA_GRILL``. Other sources are named by their rows.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from collop.reference.figures import Kind, Span
from collop.reference.sources import Row
from collop.reference.tables import Column, Table, read_table

__all__ = [
    "CARRY_OVER",
    "GRILL_TIMES",
    "CarryOverRow",
    "GrillTimeRow",
    "carry_over_rows",
    "grill_time_rows",
]


def _number(name: str, low: int, high: int, *, required: bool = False) -> Column:
    return Column(name, kind=Kind.DECIMAL, required=required, low=low, high=high)


GRILL_TIMES = Table(
    "cooking/grill_times.csv",
    (
        Column("species", required=True),
        Column("cut", required=True),
        _number("size_low", 0, 30),
        _number("size_high", 0, 30),
        Column("size_unit", required=True, choices=("in", "lb", "oz")),
        Column("method", required=True),
        Column("heat"),
        _number("minutes_low", 1, 500, required=True),
        _number("minutes_high", 1, 500, required=True),
        Column("minutes_basis", required=True, choices=("total", "per_side", "per_lb")),
        _number("end_temp_f_low", 120, 200),
        _number("end_temp_f_high", 120, 200),
    ),
    low_high=("minutes_low", "minutes_high"),
)
CARRY_OVER = Table(
    "cooking/carry_over.csv",
    (
        Column("kind", required=True, choices=("carryover",)),
        Column("product", required=True),
        Column("organism"),
        Column("fat_pct"),
        Column("temp_f"),
        Column("temp_c"),
        Column("log_reduction"),
        Column("time_s"),
        Column("D_min"),
        Column("z_c"),
        Column("value", kind=Kind.SPAN, required=True, low=0, high=30),
        Column("unit", required=True, choices=("F", "F in 5 min", "C")),
    ),
    key="product",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class GrillTimeRow(Row):
    """One line of a published chart.

    Parameters
    ----------
    species, cut, method, heat : str
        As in the table.
    size_low, size_high : Decimal or None
        Thickness or weight, in `size_unit` (``in``, ``lb`` or ``oz``); None where not stated.
    minutes_low, minutes_high : Decimal
        As printed [min], for all of it, each side or each pound: `minutes_basis`.
    end_f_low, end_f_high : Decimal or None
        End temperatures that go with the two times [degF], where stated.
    """

    species: str
    cut: str
    size_low: Decimal | None
    size_high: Decimal | None
    size_unit: str
    method: str
    heat: str
    minutes_low: Decimal
    minutes_high: Decimal
    minutes_basis: str
    end_f_low: Decimal | None
    end_f_high: Decimal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CarryOverRow(Row):
    """How far a core rises after it comes off: `rise` in `unit` (``F``, ``F in 5 min``, ``C``)."""

    product: str
    rise: Span
    unit: str


@cache
def _times() -> tuple[GrillTimeRow, ...]:
    return tuple(
        GrillTimeRow(
            species=cells.text("species"),
            cut=cells.text("cut"),
            size_low=cells.decimal_or_none("size_low"),
            size_high=cells.decimal_or_none("size_high"),
            size_unit=cells.text("size_unit"),
            method=cells.text("method"),
            heat=cells.text("heat"),
            minutes_low=cells.decimal("minutes_low"),
            minutes_high=cells.decimal("minutes_high"),
            minutes_basis=cells.text("minutes_basis"),
            end_f_low=cells.decimal_or_none("end_temp_f_low"),
            end_f_high=cells.decimal_or_none("end_temp_f_high"),
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
        )
        for cells in read_table(GRILL_TIMES)
    )


def grill_time_rows(source_id: str = "", *, unit: str = "") -> tuple[GrillTimeRow, ...]:
    """Return the lines of the charts, in the order of the table.

    Parameters
    ----------
    source_id : str
        Only of one source; of all if empty.
    unit : str
        Only lines whose size is in this unit (``in``, ``lb``, ``oz``); of all if empty.
    """
    return tuple(
        row
        for row in _times()
        if source_id in ("", row.source.source_id) and unit in ("", row.size_unit)
    )


@cache
def carry_over_rows() -> tuple[CarryOverRow, ...]:
    """Return the published rises after cooking."""
    found = []
    for cells in read_table(CARRY_OVER):
        rise = cells.span_or_none("value")
        assert rise is not None  # the column is required
        found.append(
            CarryOverRow(
                product=cells.text("product"),
                rise=rise,
                unit=cells.text("unit"),
                source=cells.origin(),
                status=cells.status(),
                note=cells.text("note"),
            )
        )
    return tuple(found)
