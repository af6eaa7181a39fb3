"""Ways to cut one large cut, each excluding the others, as shares of it.

Nearly every row is from memory; the published ones are totals of boning trials on pork loins and
lamb legs and two lines of an army cutting test.

References
----------
.. [1] Lorenzen et al., Journal of Animal Science, 1996 (pork) and 75:1-6, 1997 (lamb): saleable
   yield and fabrication time. Source ids ``LORPORK96``, ``LORLAMB97``.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from collop.reference.figures import Kind, Span
from collop.reference.sources import Row, Status
from collop.reference.tables import Cells, Column, Table, read_table

__all__ = ["CUTTING_STYLES", "CutStyleRow", "cut_style_rows"]

CUTTING_STYLES = Table(
    "yields/cutting_alternatives.csv",
    (
        Column("alternative_group", required=True),
        Column("species", required=True, choices=("beef", "pork", "lamb", "chicken")),
        Column("primal", required=True),
        Column("style", required=True),
        Column("output_cut", required=True),
        Column("kind", required=True, choices=("cut", "trim", "fat_bone", "bone", "total")),
        Column("pct_of_primal_raw", kind=Kind.SPAN, required=True, low=0, high=100),
        Column("labour_minutes_typical", kind=Kind.SPAN, low=0, high=240),
        Column("labour_status", choices=(Status.SEEN, Status.MEMORY, "")),
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CutStyleRow(Row):
    """One output of one way to cut a large cut.

    Parameters
    ----------
    group, species, primal, style, output, kind : str
        As in the table; a row of kind ``total`` stands alone and is no part of a sum.
    pct : Span
        Share of the large cut as it lies on the table [%].
    minutes : Span or None
        Labour for one piece by one practised cutter [min].
    minutes_status : Status or None
        How the labour was obtained.
    """

    group: str
    species: str
    primal: str
    style: str
    output: str
    kind: str
    pct: Span
    minutes: Span | None
    minutes_status: Status | None


def _row(cells: Cells) -> CutStyleRow:
    share, mark = cells.span_or_none("pct_of_primal_raw"), cells.text("labour_status")
    assert share is not None
    return CutStyleRow(
        group=cells.text("alternative_group"),
        species=cells.text("species"),
        primal=cells.text("primal"),
        style=cells.text("style"),
        output=cells.text("output_cut"),
        kind=cells.text("kind"),
        pct=share,
        minutes=cells.span_or_none("labour_minutes_typical"),
        minutes_status=Status(mark) if mark else None,
        source=cells.origin(),
        status=cells.status(),
        note=cells.text("note"),
    )


@cache
def _rows() -> tuple[CutStyleRow, ...]:
    return tuple(_row(cells) for cells in read_table(CUTTING_STYLES))


def cut_style_rows(group: str = "", *, kind: str = "") -> tuple[CutStyleRow, ...]:
    """Return the rows of one large cut, or of one kind.

    Parameters
    ----------
    group : str
        E.g. ``B-SIRLOIN``; every one if empty.
    kind : str
        E.g. ``total``; every one if empty.

    Examples
    --------
    >>> [(row.output, row.pct.low) for row in cut_style_rows("L-LEG", kind="total")]
    [('total saleable', Decimal('85.3')), ('total saleable', Decimal('68.0'))]
    """
    return tuple(row for row in _rows() if group in ("", row.group) and kind in ("", row.kind))
