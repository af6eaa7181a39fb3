"""Single published figures of thawing, salting, chilling, holding and keeping, by name.

References
----------
.. [1] USDA FSIS, Serving temperatures and two-hour rule. Source id ``FSIS_SERVE``.
.. [2] FDA Food Code 3-501.14, cooling. Source id ``FOODCODE_COOL``.
.. [3] Kansas State University Extension, Prepared turkey dinner safety tips (reheating). Source id
   ``KSTATE``.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import NamedTuple

from collop.errors import ReferenceTableError
from collop.reference.thawing import THAW_CHILL_HOLD, ThawRow, keeping_rows

__all__ = [
    "SaltShare",
    "cooling_steps",
    "hold_hot",
    "keeping_row",
    "salt_share",
    "storage_row",
    "time_out",
]


class SaltShare(NamedTuple):
    """Salt as a share of the raw weight.

    Parameters
    ----------
    low, usual, high : Decimal
        Percent of the raw weight.
    row : ThawRow
        Where the range comes from; `row.is_cited` is false where it is recalled.
    """

    low: Decimal
    usual: Decimal
    high: Decimal
    row: ThawRow


def keeping_row(topic: str, item: str, *, cited: bool = True) -> ThawRow:
    """Return one row of the table by its topic and item.

    Parameters
    ----------
    topic, item : str
        As in the table.
    cited : bool
        Whether a recalled figure is refused; false only where the caller says that it is recalled.

    Raises
    ------
    ReferenceTableError
        If there is no such row with a figure.

    Examples
    --------
    >>> str(keeping_row("hold hot", "consumer advice").high)
    '140'
    """
    for row in keeping_rows(topic, cited_only=cited):
        if row.item == item and row.low is not None and row.high is not None:
            return row
    raise ReferenceTableError(
        f"{THAW_CHILL_HOLD.path} has no {'cited ' if cited else ''}row for {topic}, {item!r}; "
        "restore it."
    )


def _high(row: ThawRow) -> Decimal:
    assert row.high is not None  # keeping_row asks for a figure
    return row.high


def time_out(air_f: float | None = None) -> tuple[Decimal, ThawRow]:
    """Return how long food may be out of the fridge and off the heat [h], and the row.

    Parameters
    ----------
    air_f : float or None
        Air temperature [degF]; None if not known: then the limit of ordinary weather, and the
        caller says that it is half as long in heat.

    Examples
    --------
    >>> str(time_out(75)[0]), str(time_out(90)[0]), str(time_out(91)[0])
    ('2', '2', '1')

    References
    ----------
    .. [1] USDA FSIS, Serving temperatures and two-hour rule. Source id ``FSIS_SERVE``.
    """
    usual = keeping_row("time out", "room temperature")
    hot = keeping_row("time out", "above 90 F air")
    above = re.search(r"\d+", hot.item)
    assert above is not None  # the name of the row holds its figure
    row = hot if air_f is not None and air_f > int(above[0]) else usual
    return _high(row), row


def hold_hot(*, retail: bool = False) -> tuple[Decimal, ThawRow]:
    """Return the least temperature at which cooked food is kept hot [degF], and the row."""
    row = keeping_row("hold hot", "retail" if retail else "consumer advice")
    return _high(row), row


def cooling_steps() -> tuple[ThawRow, ThawRow]:
    """Return the two steps of cooling: 135 to 70 degF, then 70 to 41 degF, with their hours."""
    return (
        keeping_row("chill", "stage 1: 135 F to 70 F"),
        keeping_row("chill", "stage 2: 70 F to 41 F"),
    )


def storage_row(cook_as: str) -> ThawRow:
    """Return how many days raw meat keeps at 40 degF, by how it is cooked.

    References
    ----------
    .. [1] USDA FSIS, Basics for handling food safely, storage. Source id ``FSIS_STORE``.
    """
    if cook_as == "whole":
        return keeping_row("store", "beef, veal, lamb, pork cuts")
    return keeping_row("store", "fresh poultry, ground and variety meats")


def salt_share(species: str | None) -> SaltShare:
    """Return how much dry salt to use, as percent of the raw weight.

    For turkey the range was read in a source; for all else it is recalled. The usual 1 % lies in
    both and is itself recalled.

    References
    ----------
    .. [1] How much salt per pound for turkey. Source id ``DRYBRINE_WEB``. Its spoons are misprinted
       (several times too much), so no spoons are given anywhere.
    """
    usual = Decimal(1)
    if species == "turkey":
        row = keeping_row("salt", "dry brine")
    else:
        row = keeping_row("salt", "dry brine, planning range", cited=False)
    assert row.low is not None  # keeping_row asks for a figure
    return SaltShare(row.low, usual, _high(row), row)
