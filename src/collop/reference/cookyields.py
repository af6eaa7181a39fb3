"""What is left of a raw weight after cooking, as published.

References
----------
.. [1] USDA Agricultural Research Service, USDA Table of Cooking Yields for Meat and Poultry,
   Release 2, 2014. Source id ``USDA_CY2``. Other sources are named by their rows.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache

from collop.errors import BadValue
from collop.measures import Weight, round_fraction
from collop.reference.figures import Kind
from collop.reference.sources import Row
from collop.reference.tables import Column, Table, read_table

__all__ = ["COOKING_YIELDS", "CookingYieldRow", "cooked_weight", "cooking_yield"]


def _number(name: str, low: int, high: int) -> Column:
    return Column(name, kind=Kind.DECIMAL, low=low, high=high)


COOKING_YIELDS = Table(
    "cooking/cooking_yields.csv",
    (
        Column("species", required=True),
        Column("cut", required=True),
        Column("preparation", required=True),
        Column("preparation_as_published", required=True),
        Column("doneness_or_end_temp"),
        Column("yield_pct", kind=Kind.DECIMAL, required=True, low=1, high=100),
        _number("sd", 0, 50),
        Column("n", kind=Kind.WHOLE, low=1, high=10_000),
        _number("min_pct", 1, 100),
        _number("max_pct", 1, 100),
        _number("moisture_change_pct", -100, 100),
        _number("fat_change_pct", -100, 100),
        Column("ndb"),
        Column("release_year", kind=Kind.WHOLE, low=1900, high=2100),
    ),
    low_high=("min_pct", "max_pct"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CookingYieldRow(Row):
    """One published cooking yield.

    Parameters
    ----------
    species, cut, preparation, end_point : str
        As in the table.
    yield_pct : Decimal
        Cooked weight of 100 of raw weight [%].
    sd, min_pct, max_pct : Decimal or None
        Spread of the samples [%], where published.
    samples : int or None
        Number of samples, where published.
    """

    species: str
    cut: str
    preparation: str
    end_point: str
    yield_pct: Decimal
    sd: Decimal | None
    samples: int | None
    min_pct: Decimal | None
    max_pct: Decimal | None


@cache
def _rows() -> tuple[CookingYieldRow, ...]:
    return tuple(
        CookingYieldRow(
            species=cells.text("species"),
            cut=cells.text("cut"),
            preparation=cells.text("preparation"),
            end_point=cells.text("doneness_or_end_temp"),
            yield_pct=cells.decimal("yield_pct"),
            sd=cells.decimal_or_none("sd"),
            samples=cells.whole_or_none("n"),
            min_pct=cells.decimal_or_none("min_pct"),
            max_pct=cells.decimal_or_none("max_pct"),
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
        )
        for cells in read_table(COOKING_YIELDS)
    )


def cooking_yield(
    species: str, words: str = "", preparation: str = "", *, cited_only: bool = False
) -> tuple[CookingYieldRow, ...]:
    """Return the published yields that fit.

    Parameters
    ----------
    species : str
        As in the table: beef, pork, lamb, chicken, turkey, veal, game, emu, ostrich.
    words : str
        Words that must all occur in the cut, in any order and case.
    preparation : str
        E.g. ``braised`` or ``grilled``; either half of ``grilled/broiled`` fits.
    cited_only : bool
        Leave out the rows from memory.

    Returns
    -------
    tuple of CookingYieldRow
        In the order of the table. Empty where nothing is published: there is no row for duck or
        goat, and none may be made up from another species.
    """
    wanted = words.lower().split()
    return tuple(
        row
        for row in _rows()
        if row.species == species.lower()
        and all(word in row.cut.lower() for word in wanted)
        and preparation in ("", row.preparation, *row.preparation.split("/"))
        and (row.is_cited or not cited_only)
    )


def cooked_weight(raw: Weight, row: CookingYieldRow) -> Weight:
    """Return the cooked weight of a raw one by the mean yield of a row.

    Raises
    ------
    BadValue
        If the raw weight is negative.

    Examples
    --------
    >>> from collop.measures import WeightUnit
    >>> skirt = cooking_yield("beef", "outside skirt", "grilled")[0]
    >>> cooked_weight(Weight.of("5.00", WeightUnit.LB), skirt).text()
    '3.41 lb'
    """
    if raw.count < 0:
        raise BadValue("A raw weight cannot be negative; give the weight before cooking.")
    return Weight(round_fraction(raw.count * Fraction(row.yield_pct) / 100), raw.unit)
