"""How long meat keeps in a fridge, and how it lies there.

References
----------
.. [1] Storage times for the refrigerator and freezer, reprint of a FoodSafety.gov chart. Source id
   ``COLDCHART``, rows SF099 to SF112; variety meats ``COLDVAR``, row SF113.
.. [2] Food stored to prevent cross-contamination (Food Code 3-302.11). Source id ``STOREORD``, rows
   SF092 to SF096.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache

from collop.errors import BadValue
from collop.reference.rulebook import PublishedRule, rule_row, rule_rows
from collop.rules.choosing import NOTHING_CHOSEN, figure
from collop.rules.choosing_list import KEPT_CLASSES, fridge_days

__all__ = ["STORED", "Stored", "keep_by", "shelf_of", "storage_days", "storage_order"]

#: Kinds of food of the chart and their rows.
STORED: Mapping[str, str] = {
    "steaks": "SF099", "chops": "SF100", "roasts": "SF101", "mince": "SF102",
    "raw sausage": "SF103", "bacon": "SF104", "whole bird": "SF105", "bird pieces": "SF106",
    "hot dogs, opened": "SF107", "hot dogs, unopened": "SF108", "lunch meat, opened": "SF109",
    "lunch meat, unopened": "SF110", "cooked meat": "SF111", "soups and stews": "SF112",
    "offal": "SF113",
}  # fmt: skip
_SHELF_OF = {
    "ready to eat": 1, "fish": 2, "whole": 3, "ground": 4, "tenderised": 4, "sausage": 4,
    "poultry": 5,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Stored:
    """How long a kind of food keeps in a fridge at 40 degF.

    Parameters
    ----------
    low, high : int
        Fewest and most days of the chart.
    row : PublishedRule
        Its row.
    """

    low: int
    high: int
    row: PublishedRule


def storage_days(kind: str) -> Stored:
    """Return how long a kind of food of the chart keeps in a fridge.

    Raises
    ------
    BadValue
        If the chart does not have it.

    Examples
    --------
    >>> found = storage_days("chops")
    >>> found.low, found.high
    (3, 5)
    """
    if kind not in STORED:
        raise BadValue(f"The storage chart has no {str(kind)[:30]!r}; use one of "
                       f"{', '.join(STORED)}.")  # fmt: skip
    row = rule_row(STORED[kind])
    return Stored(*fridge_days(row), row)


def keep_by(
    kept_as: str, packed: date, chosen: Mapping[str, str] = NOTHING_CHOSEN
) -> tuple[date, int]:
    """Return the last day of raw meat put out on a day, and the days from it.

    Parameters
    ----------
    kept_as : str
        ``whole``, ``ground``, ``sausage``, ``poultry``, ``offal``, ``bacon`` or ``cooked``.
    packed : date
        Day 0: the chart counts days from the purchase.
    chosen : mapping of str to str
        The shop's choices; left alone, the fewest days of the chart.

    Raises
    ------
    BadValue
        If there is no such class.

    Examples
    --------
    >>> str(keep_by("whole", date(2026, 6, 10))[0]), str(keep_by("ground", date(2026, 6, 10))[0])
    ('2026-06-13', '2026-06-11')
    """
    if kept_as not in KEPT_CLASSES:
        raise BadValue(f"There is no class {str(kept_as)[:20]!r} of keeping; use one of "
                       f"{', '.join(KEPT_CLASSES)}.")  # fmt: skip
    days = int(figure(f"days_{kept_as}", chosen))
    try:
        return packed + timedelta(days=days), days
    except OverflowError:
        raise BadValue(f"The year {packed.year} is out of range; check the day.") from None


@cache
def storage_order() -> tuple[PublishedRule, ...]:
    """Return what lies on each shelf, from the top: what needs the most heat lies lowest.

    Examples
    --------
    >>> [row.value for row in storage_order()][0], [row.value for row in storage_order()][-1]
    ('ready-to-eat food', 'poultry')
    """
    rows = rule_rows("safety", "storage_order", cited_only=True)
    return tuple(sorted(rows, key=lambda row: int(row.text.split()[1])))


def shelf_of(kind: str) -> int:
    """Return the shelf of a kind of food, 1 at the top.

    Parameters
    ----------
    kind : str
        ``ready to eat``, ``fish``, ``whole``, ``ground``, ``tenderised``, ``sausage`` or
        ``poultry``; tenderised meat lies with mince by row SF097, from memory, not checked.

    Raises
    ------
    BadValue
        If it is none of them.
    """
    if kind not in _SHELF_OF:
        raise BadValue(f"No shelf is known for {str(kind)[:20]!r}; use one of "
                       f"{', '.join(_SHELF_OF)}.")  # fmt: skip
    return _SHELF_OF[kind]
