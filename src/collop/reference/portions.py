"""How much is bought or eaten a head, as published."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache

from collop.errors import BadValue
from collop.measures import Weight, WeightUnit, decimal_of
from collop.reference.figures import Kind
from collop.reference.sources import Row
from collop.reference.tables import Column, Table, read_table

__all__ = ["PORTIONS", "PortionRow", "portion_rows", "servings"]

_LEAST = Decimal("0.01")
PORTIONS = Table(
    "cooking/portions.csv",
    (
        Column("item", required=True),
        Column("state", choices=("raw", "cooked", "cooked boneless", "")),
        Column("amount_low", kind=Kind.DECIMAL, required=True, low=_LEAST, high=100),
        Column("amount_high", kind=Kind.DECIMAL, required=True, low=_LEAST, high=100),
        Column("unit", required=True),
        Column("basis"),
        Column("who", required=True),
        Column("context", required=True),
    ),
    low_high=("amount_low", "amount_high"),
    # these two belong to the light and the heavy end of a weight band
    low_high_not=frozenset({"whole turkey 12-16 lb", "whole turkey 16-20 lb"}),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PortionRow(Row):
    """One published portion.

    Parameters
    ----------
    item, state, unit, basis, who, context : str
        As in the table; `state` is raw or cooked.
    low, high : Decimal
        Amount in `unit`, low not above high.
    """

    item: str
    state: str
    low: Decimal
    high: Decimal
    unit: str
    basis: str
    who: str
    context: str

    def ounces_a_head(self) -> tuple[Decimal, Decimal] | None:
        """Return the least and most ounces a head, in the row's own state.

        Returns
        -------
        tuple of Decimal [oz] or None
            Rounded half up to 0.01 oz; None where the unit is no weight a head. A source that
            says *at least* or *up to* gives that one figure twice.

        Notes
        -----
        16 / n for n servings to the pound, 16 n for n pounds a head; 16 oz = 1 lb (NIST Handbook
        44, Appendix C).
        """
        unit = self.unit.partition(" (")[0]
        low, high = Fraction(self.low), Fraction(self.high)
        if unit == "servings/lb":
            low, high = 16 / high, 16 / low
        elif unit in ("lb/person", "lb/serving"):
            low, high = 16 * low, 16 * high
        elif unit not in ("oz/person", "oz/serving"):
            return None
        return decimal_of(low, 2), decimal_of(high, 2)


@cache
def _rows() -> tuple[PortionRow, ...]:
    found = []
    for cells in read_table(PORTIONS):
        low, high = sorted((cells.decimal("amount_low"), cells.decimal("amount_high")))
        words = {name: cells.text(name) for name in ("item", "state", "unit", "basis")}
        found.append(
            PortionRow(
                **words,
                low=low,
                high=high,
                who=cells.text("who"),
                context=cells.text("context"),
                source=cells.origin(),
                status=cells.status(),
                note=cells.text("note"),
            )
        )
    return tuple(found)


def portion_rows(
    words: str = "",
    *,
    state: str = "",
    who: str = "",
    source_id: str = "",
    cited_only: bool = False,
) -> tuple[PortionRow, ...]:
    """Return the published portions that fit.

    Parameters
    ----------
    words : str
        Words that must all occur in the item, in any order and case.
    state : str
        ``raw`` or ``cooked``; any if empty.
    who : str
        Text that must occur in the column who, e.g. ``child``.
    source_id : str
        Only this source.
    cited_only : bool
        Leave out the rows from memory.

    Returns
    -------
    tuple of PortionRow
        In the order of the table; empty if nothing was published.

    References
    ----------
    .. [1] Each row names its own source.
    """
    wanted = words.lower().split()
    return tuple(
        row
        for row in _rows()
        if all(word in row.item.lower() for word in wanted)
        and state in ("", row.state)
        and who in row.who
        and source_id in ("", row.source.source_id)
        and (row.is_cited or not cited_only)
    )


def servings(weight: Weight, row: PortionRow) -> tuple[int, int]:
    """Return the fewest and most whole servings that a weight gives by a published portion.

    Parameters
    ----------
    weight : Weight
        In the state of the row (raw or cooked).
    row : PortionRow
        A row with a weight a head or servings to the pound.

    Raises
    ------
    BadValue
        If the row counts pieces, ribs or racks instead of weight, or `weight` is negative.

    Examples
    --------
    >>> flank = portion_rows("flank steak")[0]
    >>> servings(Weight.of("2.50", WeightUnit.LB), flank)
    (10, 10)
    """
    if weight.count < 0:
        raise BadValue("A weight to serve cannot be negative; give the weight there is.")
    unit = row.unit.partition(" (")[0]
    pounds = weight.exact(WeightUnit.LB)
    low, high = Fraction(row.low), Fraction(row.high)
    if unit == "servings/lb":
        return int(pounds * low), int(pounds * high)
    if unit in ("oz/person", "oz/serving"):
        low, high = low / 16, high / 16
    elif unit not in ("lb/person", "lb/serving"):
        raise BadValue(f"{row.item} is published in {row.unit}; choose a row with a weight.")
    return int(pounds / high), int(pounds / low)
