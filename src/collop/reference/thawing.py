"""How long frozen meat takes to thaw, as published, and other times of keeping and chilling.

References
----------
.. [1] Turkey thawing times (USDA based), several reprints: refrigerator 24 h for each 4-5 lb; cold
   water 30 min a pound, changed every 30 min, cooked at once. Source id ``THAW_TURKEY``.
.. [2] To thaw safely, kitchen guide: a 1 in package of ground beef 24 h in the refrigerator.
   Source id ``THAW_CUTS``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache
from math import ceil
from typing import NamedTuple

from collop.errors import BadValue, ReferenceTableError
from collop.measures import Weight, WeightUnit
from collop.reference.figures import Kind
from collop.reference.sources import Row
from collop.reference.tables import Column, Table, read_table

__all__ = [
    "THAW_CHILL_HOLD",
    "ThawHours",
    "ThawRow",
    "cold_water_hours",
    "keeping_rows",
    "thaw_hours",
]

THAW_CHILL_HOLD = Table(
    "cooking/thaw_chill_hold.csv",
    (
        Column("topic", required=True),
        Column("item", required=True),
        Column("value_low", kind=Kind.DECIMAL, low=0, high=400),
        Column("value_high", kind=Kind.DECIMAL, low=0, high=400),
        Column("unit", required=True),
        Column("condition"),
    ),
    low_high=("value_low", "value_high"),
    # the two figures are without and with salt
    low_high_not=frozenset({"shrink"}),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ThawRow(Row):
    """One published time, temperature or share of keeping meat.

    Parameters
    ----------
    topic, item, unit, condition : str
        As in the table.
    low, high : Decimal or None
        In `unit`; None where the rule is words.
    """

    topic: str
    item: str
    low: Decimal | None
    high: Decimal | None
    unit: str
    condition: str


class ThawHours(NamedTuple):
    """Hours in the refrigerator, rounded up to 0.01 h.

    Parameters
    ----------
    least : Decimal
        Under this it cannot be thawed [h].
    planned : Decimal
        What to plan with [h].
    """

    least: Decimal
    planned: Decimal


@cache
def _rows() -> tuple[ThawRow, ...]:
    return tuple(
        ThawRow(
            topic=cells.text("topic"),
            item=cells.text("item"),
            low=cells.decimal_or_none("value_low"),
            high=cells.decimal_or_none("value_high"),
            unit=cells.text("unit"),
            condition=cells.text("condition"),
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
        )
        for cells in read_table(THAW_CHILL_HOLD)
    )


def keeping_rows(topic: str = "", *, cited_only: bool = False) -> tuple[ThawRow, ...]:
    """Return the rows of a topic: thaw, cook from frozen, store, chill, hold hot, and so on."""
    return tuple(
        row for row in _rows() if topic in ("", row.topic) and (row.is_cited or not cited_only)
    )


def _figure(item: str) -> tuple[Fraction, ThawRow]:
    """Return the cited thaw figure of an item, and its row."""
    for row in keeping_rows("thaw", cited_only=True):
        if row.item == item and row.high is not None:
            return Fraction(row.high), row
    raise ReferenceTableError(
        f"{THAW_CHILL_HOLD.path} has no cited thaw row for {item!r}; restore it."
    )


def _pounds(piece: Weight) -> Fraction:
    if piece.count <= 0:
        raise BadValue(f"{piece.text()} cannot be thawed; give the weight of one frozen piece.")
    return piece.exact(WeightUnit.LB)


def _rounded_up(hours: Fraction) -> Decimal:
    return Decimal(ceil(hours * 100)).scaleb(-2)


def thaw_hours(piece: Weight) -> ThawHours:
    """Return the hours one frozen piece takes in the refrigerator.

    Parameters
    ----------
    piece : Weight
        One piece, not the sum of several: they thaw side by side.

    Returns
    -------
    ThawHours
        `least` takes 5 lb for each 24 h, `planned` 4 lb. `planned` is never under the 24 h that
        are published for a 1 in package; `least` is not so raised and says only what is
        impossible.

    Raises
    ------
    BadValue
        If the weight is not above zero.

    Notes
    -----
    The published figure is for whole turkey in a refrigerator at 40 degF (4.4 degC) or below. The
    same source plans 1 to 3 days for 4 to 12 lb. For other pieces of the same weight it is taken as
    it is. Flat pieces thaw sooner; a large roast may need longer, up to 7 h a pound against 6 h
    here (``THAW_CUTS``), so look whether it has thawed before it is cooked.

    Examples
    --------
    >>> str(thaw_hours(Weight.of("5.2", WeightUnit.LB)).least)
    '24.96'
    >>> str(thaw_hours(Weight.of("5.2", WeightUnit.LB)).planned)
    '31.20'

    References
    ----------
    .. [1] Turkey thawing times (USDA based). Source id ``THAW_TURKEY``, row thaw, refrigerator.
    .. [2] To thaw safely. Source id ``THAW_CUTS``, row thaw, 1 in package ground beef.
    """
    pounds = _pounds(piece)
    hours, row = _figure("refrigerator")
    band = re.fullmatch(r"h per (\d+)-(\d+) lb", row.unit)
    if band is None:
        raise ReferenceTableError(
            f"{THAW_CHILL_HOLD.path}, row refrigerator, column unit: {row.unit!r} is not "
            "'h per A-B lb'; correct the table."
        )
    small_pack, _ = _figure("1 in package ground beef, refrigerator")
    least, planned = pounds * hours / int(band[2]), pounds * hours / int(band[1])
    return ThawHours(_rounded_up(least), _rounded_up(max(planned, small_pack)))


def cold_water_hours(piece: Weight) -> Decimal:
    """Return the hours one frozen piece takes in cold water, rounded up to 0.01 h.

    The water is changed every 30 min and the piece cooked at once, so this is for the customer's
    kitchen on the day, never for collection later.

    Raises
    ------
    BadValue
        If the weight is not above zero.

    Examples
    --------
    >>> str(cold_water_hours(Weight.of("5.2", WeightUnit.LB)))
    '2.60'

    References
    ----------
    .. [1] Turkey thawing times (USDA based). Source id ``THAW_TURKEY``, row thaw, cold water.
    """
    minutes, _ = _figure("cold water")
    return _rounded_up(_pounds(piece) * minutes / 60)
