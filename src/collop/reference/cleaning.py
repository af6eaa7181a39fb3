"""How often what touches raw meat is cleaned, by how warm the cutting room is, as published.

The rows are a reference only: the local code comes first, and a shop may always clean sooner.

References
----------
.. [1] Minnesota Rules 4626.0845 (Food Code 4-602.11), 2024: surfaces that touch food that must be
   kept cold are cleaned at least every 4 h; in a room held cold, every 10 h to 24 h. Source id
   ``MN0845``.
.. [2] WAC 246-215-04605 (Food Code 4-602.11), Washington State: cleaning between different raw
   animal foods is not needed where each next one needs a higher cooking temperature. Source id
   ``WA04605``.
.. [3] 9 CFR 320.1(b)(4), USDA FSIS: date and time of each cleaning of a beef grinder are kept.
   Source id ``CFR320_1``.
"""

from __future__ import annotations

import re
from decimal import Decimal
from functools import cache
from typing import NamedTuple

from collop.errors import ReferenceTableError
from collop.measures import Temperature
from collop.reference.limits import SAFETY_LIMITS, LimitRow, limit_rows

__all__ = ["CleaningInterval", "cleaning_interval", "cleaning_row", "cleaning_rows"]

_TOPIC = "cleaning"
# a room that is held cold is told by the upper end of its band, the last figure of the words
_BAND = re.compile(r"cut room held at (?:over )?(?:[0-9.]+ to )?([0-9.]+) F(?: or less)?")
_WARM = "cut room not refrigerated"


class CleaningInterval(NamedTuple):
    """The longest time from one clean-down to the next.

    Parameters
    ----------
    hours : Decimal
        Time [h].
    row : LimitRow
        The published row it comes from.
    """

    hours: Decimal
    row: LimitRow


def cleaning_rows() -> tuple[LimitRow, ...]:
    """Return the published rows on cleaning, in the order of the table."""
    return limit_rows(_TOPIC)


def cleaning_row(rule_id: str) -> LimitRow:
    """Return one row on cleaning that was read in its source.

    Raises
    ------
    ReferenceTableError
        If there is none, or it is from memory: such a row must not rule what is done.
    """
    for row in limit_rows(_TOPIC, cited_only=True):
        if row.rule_id == rule_id:
            return row
    raise ReferenceTableError(f"{SAFETY_LIMITS.path} has no cited row {rule_id!r}; restore it.")


@cache
def _bands() -> tuple[tuple[Temperature, LimitRow], ...]:
    """Return the upper end of each band of a cold room with its row, coldest first."""
    found = []
    for row in limit_rows(_TOPIC, cited_only=True):
        band = _BAND.fullmatch(row.applies_to)
        if band:
            found.append((Temperature.fahrenheit(band[1]), row))
    return tuple(sorted(found, key=lambda one: one[0]))


def _interval(row: LimitRow) -> CleaningInterval:
    if row.figure is None or row.unit != "hours":
        raise ReferenceTableError(f"{SAFETY_LIMITS.path}, {row.rule_id}: no hours; restore them.")
    return CleaningInterval(row.figure, row)


def cleaning_interval(room: Temperature) -> CleaningInterval:
    """Return how long may pass between two clean-downs of a cutting room.

    Parameters
    ----------
    room : Temperature
        What the cutting room is held at; its highest, if it moves. The upper end of each band
        belongs to the band.

    Raises
    ------
    ReferenceTableError
        If the table has no cited row for such a room.

    Examples
    --------
    >>> [str(cleaning_interval(Temperature.fahrenheit(f)).hours) for f in ("41", "50", "50.1", 60)]
    ['24', '16', '10', '4']

    References
    ----------
    .. [1] Minnesota Rules 4626.0845 (Food Code 4-602.11(C) and (D)(2)), 2024. Source id ``MN0845``.
    """
    for upper, row in _bands():
        if room <= upper:
            return _interval(row)
    for row in limit_rows(_TOPIC, cited_only=True):
        if row.applies_to == _WARM:
            return _interval(row)
    raise ReferenceTableError(f"{SAFETY_LIMITS.path} has no row for a warm room; restore it.")
