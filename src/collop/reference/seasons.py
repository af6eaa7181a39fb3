"""How far one week or one day stands above the usual one, as published.

The figures are of whole markets: a neighbourhood counter may swing more or less.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache

from collop.reference.elasticities import ElasticityRow, elasticity_rows
from collop.reference.sources import Row

__all__ = ["SeasonRow", "season_rows"]

_KINDS = ("seasonality", "day_of_week")
_WEEKS, _DAYS = 52, 7
_PLACES = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonRow(Row):
    """One published figure of a season, a holiday week or a day of the week.

    Parameters
    ----------
    kind : str
        ``seasonality`` or ``day_of_week``.
    item, window, unit, period : str
        What sells, when, in what the figure is, and the years it is of.
    value : Decimal
        As published, in `unit`.
    index : Decimal or None
        Sales of the window as a multiple of what `window` compares it with (an average week or
        day, if it names nothing), to three decimals; None if the figure gives none.
    """

    kind: str
    item: str
    window: str
    unit: str
    period: str
    value: Decimal
    index: Decimal | None


@cache
def _all_rows() -> tuple[SeasonRow, ...]:
    return tuple(
        SeasonRow(
            kind=row.kind,
            item=row.item,
            window=row.with_respect_to,
            unit=row.unit,
            period=row.period,
            value=row.value,
            index=_index(row),
            source=row.source,
            status=row.status,
            note=row.note,
        )
        for kind in _KINDS
        for row in elasticity_rows(kind)
        if row.value is not None
    )


def season_rows(
    kind: str = "", *, item: str = "", cited_only: bool = False
) -> tuple[SeasonRow, ...]:
    """Return the published figures of season, holiday and day of the week.

    Parameters
    ----------
    kind : str
        ``seasonality`` or ``day_of_week``; both if empty.
    item : str
        E.g. ``steaks``, as a whole text; every item if empty.
    cited_only : bool
        Leave out rows from memory.

    Examples
    --------
    >>> [str(row.index) for row in season_rows("seasonality", item="all fresh beef")]
    ['1.075', '1.075', '1.108']
    """
    return tuple(
        row
        for row in _all_rows()
        if kind in ("", row.kind) and item in ("", row.item) and (row.is_cited or not cited_only)
    )


def _index(row: ElasticityRow) -> Decimal | None:
    """Return the multiple of an average week or day that a figure means, if it means one."""
    assert row.value is not None
    value = Fraction(row.value)
    if row.unit in ("index", "ratio to centred 4-quarter mean"):
        return row.value
    if row.unit.startswith("% higher"):
        return _rounded(1 + value / 100)
    if row.unit.startswith(("% of annual", "% of trips", "% of purchases")):
        # a share of the year over the share of its weeks; of the week, over a seventh
        window = row.with_respect_to.split()
        is_day = row.kind == "day_of_week"
        part = Fraction(1, _DAYS) if is_day else Fraction(int(window[0]), _WEEKS)
        return _rounded(value / 100 / part)
    return None


def _rounded(value: Fraction) -> Decimal:
    # every index is above zero: half up
    return Decimal((2 * value * 10**_PLACES + 1) // 2).scaleb(-_PLACES)
