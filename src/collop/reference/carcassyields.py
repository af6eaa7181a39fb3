"""What beef, pork and lamb carcasses gave when they were cut and weighed, as published.

Rows of two tables are never mixed: each table has its own animal, trim and base. An IMPS or HAM
number in these tables is a mapping from the printed name of the cut, not a figure of the source.

References
----------
.. [1] Beef carcass breakdown (1150-lb steer, 715-lb carcass), national beef-industry table,
   reproduced. Source id ``BB715``.
.. [2] National Pork Producers Council, Hog carcass breakdown (250-lb hog, 184-lb carcass).
   Source id ``NPPC184``. Other sources are named by their rows.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from collop.reference.figures import Kind, Span
from collop.reference.sources import Row
from collop.reference.tables import Cells, Column, Table, read_table

__all__ = ["BEEF_YIELD", "LAMB_YIELD", "PORK_YIELD", "YieldRow", "yield_rows"]

_KINDS = ("cut", "trim", "fat_bone", "loss", "retail", "primal")


def _schema(species: str) -> Table:
    return Table(
        f"yields/{species}_subprimal_yield.csv",
        (
            Column("table_id", required=True),
            Column("species", required=True, choices=(species,)),
            Column("primal", required=True),
            Column("primal_lb", kind=Kind.SPAN, low=0, high=2000),
            Column("primal_pct_of_carcass", kind=Kind.SPAN, low=0, high=100),
            Column("item", required=True),
            Column("imps"),
            Column("lb", kind=Kind.DECIMAL, low=0, high=2000),
            Column("pct_of_primal", kind=Kind.DECIMAL, low=0, high=100),
            Column("kind", required=True, choices=_KINDS),
        ),
    )


BEEF_YIELD, PORK_YIELD, LAMB_YIELD = (_schema(name) for name in ("beef", "pork", "lamb"))


@dataclass(frozen=True, slots=True, kw_only=True)
class YieldRow(Row):
    """One line of a published yield table.

    Parameters
    ----------
    table_id : str
        Rows of two tables are never mixed.
    species, primal, item, kind : str
        As in the table; `kind` is cut, trim, fat_bone, loss, retail or primal (a whole piece).
    primal_lb, primal_pct : Span or None
        Weight of the whole large cut [lb] and its share of the base of the table [%].
    lb, pct_of_primal : Decimal or None
        Weight of the line [lb] and its share of the large cut [%].
    """

    table_id: str
    species: str
    primal: str
    item: str
    kind: str
    primal_lb: Span | None
    primal_pct: Span | None
    lb: Decimal | None
    pct_of_primal: Decimal | None


def _row(cells: Cells) -> YieldRow:
    return YieldRow(
        table_id=cells.text("table_id"),
        species=cells.text("species"),
        primal=cells.text("primal"),
        item=cells.text("item"),
        kind=cells.text("kind"),
        primal_lb=cells.span_or_none("primal_lb"),
        primal_pct=cells.span_or_none("primal_pct_of_carcass"),
        lb=cells.decimal_or_none("lb"),
        pct_of_primal=cells.decimal_or_none("pct_of_primal"),
        source=cells.origin(),
        status=cells.status(),
        note=cells.text("note"),
    )


@cache
def _rows() -> tuple[YieldRow, ...]:
    tables = (BEEF_YIELD, PORK_YIELD, LAMB_YIELD)
    return tuple(_row(cells) for table in tables for cells in read_table(table))


def yield_rows(
    table_id: str = "", *, species: str = "", primal: str = "", cited_only: bool = False
) -> tuple[YieldRow, ...]:
    """Return the lines of one table, of one species or of one large cut.

    Parameters
    ----------
    table_id, species, primal : str
        As in the tables, e.g. ``BEEF_1150_715``; every one if empty.
    cited_only : bool
        Whether rows from memory are left out.

    Examples
    --------
    >>> sum(row.lb for row in yield_rows("PORK_250_184", primal="loin"))
    Decimal('33.8')
    """
    return tuple(
        row
        for row in _rows()
        if table_id in ("", row.table_id)
        and species in ("", row.species)
        and primal in ("", row.primal)
        and (row.is_cited or not cited_only)
    )
