"""How buyers answer a price, a season and a day of the week, as published.

A price elasticity is of its market: a single counter has rivals, so its own is larger.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from collop.reference.figures import Kind
from collop.reference.sources import Row
from collop.reference.tables import Column, Table, read_table

__all__ = ["ELASTICITIES", "ElasticityRow", "elasticity_rows"]

_KINDS = (
    "own_price_elasticity",
    "cross_price_elasticity",
    "expenditure_elasticity",
    "price_flexibility",
    "la_aids_gamma",
    "la_aids_beta",
    "seasonality",
    "day_of_week",
    "time_of_day",
    "sales_mix",
    "occasions",
    "willingness_to_pay",
    "finding",
)

ELASTICITIES = Table(
    "pricing/elasticities.csv",
    (
        Column("kind", required=True, choices=_KINDS),
        Column("item", required=True),
        Column("with_respect_to"),
        Column("value", kind=Kind.DECIMAL, low=-10, high=100),
        Column("unit", required=True),
        Column("period", required=True),
        Column("population_or_method", required=True),
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ElasticityRow(Row):
    """One published figure of demand.

    Parameters
    ----------
    kind, item, with_respect_to, unit, period, method : str
        As in the table; `method` is the population or the way of estimating.
    value : Decimal or None
        In `unit`; an own-price elasticity is below zero. None for a finding in words.
    """

    kind: str
    item: str
    with_respect_to: str
    unit: str
    period: str
    method: str
    value: Decimal | None


@cache
def _rows() -> tuple[ElasticityRow, ...]:
    texts = ("kind", "item", "with_respect_to", "unit", "period")
    return tuple(
        ElasticityRow(
            **{name: cells.text(name) for name in texts},
            method=cells.text("population_or_method"),
            value=cells.decimal_or_none("value"),
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
        )
        for cells in read_table(ELASTICITIES)
    )


def elasticity_rows(
    kind: str = "", *, item: str = "", cited_only: bool = False
) -> tuple[ElasticityRow, ...]:
    """Return the published figures of demand, in the order of the table.

    Parameters
    ----------
    kind : str
        E.g. ``own_price_elasticity``; every kind if empty.
    item : str
        E.g. ``beef``, as a whole text; every item if empty.
    cited_only : bool
        Leave out rows from memory.
    """
    return tuple(
        row
        for row in _rows()
        if kind in ("", row.kind) and item in ("", row.item) and (row.is_cited or not cited_only)
    )
