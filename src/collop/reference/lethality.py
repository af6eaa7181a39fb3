"""Published times that meat is held at a temperature, and how fast bacteria die.

The published minimum temperatures are elsewhere (`collop.reference.cook_minimum`): they are the
rule. What stands here explains them and never takes their place.

References
----------
.. [1] USDA FSIS, Appendix A, compliance guidelines for lethality (cooked beef, roast beef, corned
   beef), 1999. Source id ``FSIS_APXA_1999``.
.. [2] USDA FSIS, Time-temperature tables for cooking ready-to-eat poultry products, 2006. Source
   id ``FSIS_POULTRY``.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from collop.reference.figures import Kind, Span
from collop.reference.sources import Row
from collop.reference.tables import Column, Table, read_table

__all__ = ["LETHALITY", "LethalityRow", "lethality_rows"]

LETHALITY = Table(
    "cooking/lethality_times.csv",
    (
        Column("kind", required=True, choices=("time_temp", "D_z", "rule")),
        Column("product", required=True),
        Column("organism"),
        Column("fat_pct", kind=Kind.DECIMAL, low=0, high=60),
        Column("temp_f", kind=Kind.DECIMAL, low=120, high=212),
        Column("temp_c", kind=Kind.DECIMAL, low=50, high=100),
        Column("log_reduction", kind=Kind.DECIMAL, low=1, high=12),
        Column("time_s", kind=Kind.DECIMAL, low=0, high=20_000),
        Column("D_min", kind=Kind.SPAN, low=0, high=1000),
        Column("z_c", kind=Kind.DECIMAL, low=3, high=20),
        Column("value"),
        Column("unit"),
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LethalityRow(Row):
    """One published time, death rate or rule.

    Parameters
    ----------
    kind : str
        ``time_temp``, ``D_z`` or ``rule``.
    product, organism : str
        As in the table; the organism is empty where the source names none.
    fat_pct : Decimal or None
        Fat of the product [%].
    temp_f, temp_c : Decimal or None
        As printed [degF, degC]; the second is rounded to 0.1.
    log_reduction : Decimal or None
        What `time_s` reaches, in powers of ten.
    time_s : Decimal or None
        How long the temperature is held [s]; 0 where it is reached at once.
    d_min : Span or None
        Minutes for one power of ten.
    z_c : Decimal or None
        Degrees that change `d_min` tenfold [K].
    value, unit : str
        A rule, in words.
    """

    kind: str
    product: str
    organism: str
    fat_pct: Decimal | None
    temp_f: Decimal | None
    temp_c: Decimal | None
    log_reduction: Decimal | None
    time_s: Decimal | None
    d_min: Span | None
    z_c: Decimal | None
    value: str
    unit: str


@cache
def _rows() -> tuple[LethalityRow, ...]:
    return tuple(
        LethalityRow(
            kind=cells.text("kind"),
            product=cells.text("product"),
            organism=cells.text("organism"),
            fat_pct=cells.decimal_or_none("fat_pct"),
            temp_f=cells.decimal_or_none("temp_f"),
            temp_c=cells.decimal_or_none("temp_c"),
            log_reduction=cells.decimal_or_none("log_reduction"),
            time_s=cells.decimal_or_none("time_s"),
            d_min=cells.span_or_none("D_min"),
            z_c=cells.decimal_or_none("z_c"),
            value=cells.text("value"),
            unit=cells.text("unit"),
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
        )
        for cells in read_table(LETHALITY)
    )


def lethality_rows(
    kind: str = "", *, product: str = "", source_id: str = "", cited_only: bool = False
) -> tuple[LethalityRow, ...]:
    """Return published rows.

    Parameters
    ----------
    kind, product, source_id : str
        Only the rows with this kind, product and source; all if empty.
    cited_only : bool
        Leave out what was recalled and not read.

    Examples
    --------
    >>> roast = lethality_rows("time_temp", source_id="FSIS_APXA_1999")[0]
    >>> roast.temp_f, roast.log_reduction, roast.time_s
    (Decimal('130'), Decimal('6.5'), Decimal('6720'))
    """
    return tuple(
        row
        for row in _rows()
        if kind in ("", row.kind)
        and product in ("", row.product)
        and source_id in ("", row.source.source_id)
        and (row.is_cited or not cited_only)
    )
