"""The paper set of a day: what stands on it, and how its sheets are numbered."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time

from collop.errors import BadValue
from collop.shop.bench_list_model import BenchList
from collop.shop.chalk_model import BoardLine
from collop.shop.day_model import Place
from collop.shop.model import Booking, CaseLine, Settings
from collop.shop.till_model import SlipTotals

__all__ = [
    "KINDS", "ORDERS_A_PAGE", "PAD_PAGES", "SALES_A_PAGE", "PaperBooking", "PaperDay",
    "checked_kind", "sheet_day", "sheet_id", "sheet_of",
]  # fmt: skip

#: The sheets of a set in the order they are printed: letter of their number, and what each is.
KINDS: Mapping[str, tuple[str, str]] = {
    "bench": ("B", "Bench list"), "board": ("L", "Board"), "bookings": ("H", "Bookings by hour"),
    "cold": ("C", "Cold checks"), "orders": ("O", "Order pad"), "sales": ("S", "Sales"),
}  # fmt: skip
#: How many blank pages of the pads a set has.
PAD_PAGES: Mapping[str, int] = {"orders": 3, "sales": 3}
#: Rows of a page of sales, orders on a page of the pad.
SALES_A_PAGE, ORDERS_A_PAGE = 22, 2
_SHEET = re.compile(r"P-?([0-9]{2})([0-9]{2})-?([A-Z])([0-9]{1,2})", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class PaperBooking:
    """A booking with what must not be missed: `cares` by line, and what it comes to with tax."""

    booking: Booking
    cares: Mapping[str, Sequence[str]]
    totals: SlipTotals

    @property
    def all_cares(self) -> tuple[str, ...]:
        """Return what must be looked after in the whole booking, each once."""
        return tuple(dict.fromkeys(one for cares in self.cares.values() for one in cares))


@dataclass(frozen=True, slots=True)
class PaperDay:
    """What stands on the paper set of one day.

    Parameters
    ----------
    day, at : date, datetime
        The day it is for, and when it was read.
    chosen : Settings
        Of the shop.
    bench : BenchList
        As it is now.
    board : tuple of BoardLine
        Prices in force when the day opens, or now if it has.
    case : mapping of str to CaseLine
        Allergens and casings by line.
    bookings : tuple of PaperBooking
        Collected on the day and not gone, by hour.
    places, rounds : tuple
        Where cold is read, and at which hours.
    steps : tuple of str
        What to do when it is over.
    names : mapping of str to str
        Who works here, by id.
    """

    day: date
    at: datetime
    chosen: Settings
    bench: BenchList
    board: tuple[BoardLine, ...]
    case: Mapping[str, CaseLine]
    bookings: tuple[PaperBooking, ...]
    places: tuple[Place, ...]
    rounds: tuple[time, ...]
    steps: tuple[str, ...]
    names: Mapping[str, str]


def sheet_id(day: date, kind: str, page: int) -> str:
    """Return the number of a sheet: day, letter of its kind, page.

    Examples
    --------
    >>> sheet_id(date(2026, 6, 10), "sales", 3)
    'P-0610-S3'
    """
    return f"P-{day:%m%d}-{KINDS[kind][0]}{page}"


def sheet_of(text: str) -> tuple[str, str]:
    """Read the number of a sheet as it is typed; return it in full, and its kind.

    Raises
    ------
    BadValue
        If it is none.

    Examples
    --------
    >>> sheet_of("p0610 s3".replace(" ", ""))
    ('P-0610-S3', 'sales')
    """
    found = _SHEET.fullmatch(re.sub(r"\s", "", text))
    kinds = {letter: kind for kind, (letter, _) in KINDS.items()}
    if found is None or found[3].upper() not in kinds or int(found[4]) == 0:
        raise BadValue(f"{text[:20]!r} is no number of a sheet; it stands at its top right, like "
                       "P-0610-S3.", where="sheet")  # fmt: skip
    letter = found[3].upper()
    return f"P-{found[1]}{found[2]}-{letter}{int(found[4])}", kinds[letter]


def sheet_day(sheet: str, today: date) -> date:
    """Return the day a sheet is for: the last such day that is not ahead.

    Raises
    ------
    BadValue
        If there is no such day.
    """
    for year in (today.year, today.year - 1):
        try:
            found = date(year, int(sheet[2:4]), int(sheet[4:6]))
        except ValueError:
            continue
        if found <= today:
            return found
    raise BadValue(f"{sheet} is for no day that has come; look at the top right of the sheet.",
                   where="sheet")  # fmt: skip


def checked_kind(kind: str) -> str:
    """Return a kind of sheet, or raise `BadValue`."""
    if kind not in KINDS:
        raise BadValue(f"There is no sheet {kind[:20]!r}; choose one of {', '.join(KINDS)}.",
                       where="sheet")  # fmt: skip
    return kind
