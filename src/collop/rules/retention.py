"""How long a record is kept.

References
----------
.. [1] 9 CFR 320.3: grind records 1 year; other records of meat 2 years after 31 December of the
   year of the transaction. Source id ``CFR320_3``, rows TR017 and TR018.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from collop.errors import BadValue
from collop.reference.rulebook import PublishedRule, rule_row
from collop.rules.choosing import NOTHING_CHOSEN, figure

__all__ = ["RECORDS", "Kept", "keep_until"]

#: Kind of record, what it is called, its setting and its row; no row is our own figure.
RECORDS: Mapping[str, tuple[str, str, str]] = {
    "grind": ("grind record", "grind_record_years", "TR017"),
    "clean-down": ("clean-down of the grinder", "grind_record_years", "TR017"),
    "traded": ("meat bought and sold", "record_years", "TR018"),
    "check": ("check of the Day Book", "daybook_years", ""),
}


@dataclass(frozen=True, slots=True)
class Kept:
    """Through which day a record is kept.

    Parameters
    ----------
    until : date
        The last day on which it must be there.
    row : PublishedRule or None
        The published row; None for our own figure.
    """

    until: date
    row: PublishedRule | None


def _years_on(day: date, years: int) -> date:
    """Return the same day years later; of 29 February the day after the last of the month."""
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        if day.year + years > date.max.year:
            raise BadValue(f"The year {day.year} is out of range; check the day.") from None
        return date(day.year + years, 3, 1)


def keep_until(kind: str, day: date, chosen: Mapping[str, str] = NOTHING_CHOSEN) -> Kept:
    """Return through which day a record of a day is kept.

    Parameters
    ----------
    kind : str
        ``grind``, ``clean-down``, ``traded`` or ``check``. Checks of the Day Book are kept a year:
        our own figure, no published source.
    day : date
        Of the grinding, the transaction or the check.
    chosen : mapping of str to str
        The shop's choices; never shorter than published.

    Raises
    ------
    BadValue
        If there is no such kind.

    Examples
    --------
    >>> str(keep_until("traded", date(2026, 3, 10)).until)
    '2028-12-31'
    >>> str(keep_until("grind", date(2026, 11, 25)).until)
    '2027-11-25'
    """
    if kind not in RECORDS:
        raise BadValue(f"There is no kind of record {str(kind)[:20]!r}; use one of "
                       f"{', '.join(RECORDS)}.")  # fmt: skip
    _, name, rule_id = RECORDS[kind]
    years = int(figure(name, chosen))
    start = date(day.year, 12, 31) if kind == "traded" else day
    return Kept(_years_on(start, years), rule_row(rule_id) if rule_id else None)
