"""The weeks ahead: frozen records of farm orders, quotes and the season sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from fractions import Fraction
from typing import Any

from collop.measures import Money
from collop.shop.model import Booking

__all__ = [
    "Comparison", "DayChange", "FarmOrder", "LongList", "NewFarmOrder", "NewQuote", "SeasonCell",
    "SeasonRow", "SeasonWeek", "SupplierQuote",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class NewFarmOrder:
    """Animals ordered of a farm; `what` is how they come, e.g. ``Lamb`` or ``Beef side``."""

    farm: str
    species: str
    what: str
    animals: int
    for_day: date
    words: str = ""


@dataclass(frozen=True, slots=True)
class FarmOrder:
    """An order as it stands: `came` of its animals are here."""

    id: str
    farm: str
    species: str
    what: str
    animals: int
    for_day: date
    words: str
    came: int
    is_taken_back: bool
    at: datetime
    by: str | None

    @property
    def left(self) -> int:
        """Return how many are still to come."""
        return 0 if self.is_taken_back else max(0, self.animals - self.came)

    def state(self, today: date) -> str:
        """Return how it stands in words: ``met``, ``late``, ``1 of 3 came`` and so on."""
        if self.is_taken_back:
            return "taken back"
        if not self.left:
            return "met"
        came = f"{self.came} of {self.animals} came" if self.came else "expected"
        return f"{came}, late" if self.for_day < today else came


@dataclass(frozen=True, slots=True)
class NewQuote:
    """What a supplier asks; `offer` is that of ``collop.buying/1`` with its ``species``."""

    supplier: str
    name: str
    basis: str
    offer: Mapping[str, Any]
    good_until: date | None = None


@dataclass(frozen=True, slots=True)
class SupplierQuote:
    """A quote that is kept, and has not been taken off."""

    id: str
    supplier: str
    name: str
    basis: str
    offer: Mapping[str, Any]
    good_until: date | None
    at: datetime
    by: str | None

    @property
    def species(self) -> str:
        """Return the animal it is of."""
        return str(self.offer.get("species", ""))

    def is_over(self, today: date) -> bool:
        """Tell whether it is good no more."""
        return self.good_until is not None and self.good_until < today


@dataclass(frozen=True, slots=True)
class Comparison:
    """The quotes of one animal on one basis, as ``collop.buying/1`` and its plan."""

    species: str
    problem: Mapping[str, Any]
    plan: Mapping[str, Any]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SeasonWeek:
    """One week: the days customers are served, those opened or shut beside the usual ones."""

    monday: date
    open_days: tuple[date, ...]
    opened: tuple[date, ...]
    closed: tuple[date, ...]
    deposits: Money
    bookings: int

    @property
    def days(self) -> tuple[date, ...]:
        """Return its seven days."""
        return tuple(self.monday + timedelta(days=ahead) for ahead in range(7))


@dataclass(frozen=True, slots=True)
class SeasonCell:
    """One animal in one week, counted in whole animals of that sort.

    Parameters
    ----------
    booked : Fraction
        What bookings and standing orders of the week need.
    aside : Fraction
        Of it, what lies reserved already.
    decides : str
        The cut that needs the most animals.
    next_need : Fraction
        What would be needed without it, for the cut `next_cut`.
    next_cut : str
        Empty where no other cut is booked.
    hung : Fraction
        What hangs for that week and is not claimed.
    tags : tuple of str
        Its tags.
    ordered : int
        Animals of farm orders still to come.
    short : int
        Animals that are lacking, rounded up, for the cut `short_cut`.
    short_cut : str
        The cut that lacks the most animals; empty where none does.
    body : int
        Animals that are lacking, rounded up, for cuts that are not small ones: what no cap and no
        stand-in will do.
    body_cut : str
        The cut of these that lacks the most; empty where none does.
    """

    booked: Fraction = Fraction(0)
    aside: Fraction = Fraction(0)
    decides: str = ""
    next_need: Fraction = Fraction(0)
    next_cut: str = ""
    hung: Fraction = Fraction(0)
    tags: tuple[str, ...] = ()
    ordered: int = 0
    short: int = 0
    short_cut: str = ""
    body: int = 0
    body_cut: str = ""

    @property
    def is_empty(self) -> bool:
        """Tell whether there is nothing to be said of it."""
        return not (self.booked or self.hung or self.ordered or self.short)


@dataclass(frozen=True, slots=True)
class SeasonRow:
    """One sort of animal over the weeks."""

    species: str
    name: str
    cells: tuple[SeasonCell, ...]


@dataclass(frozen=True, slots=True)
class LongList:
    """The season sheet: weeks across, animals down."""

    weeks: tuple[SeasonWeek, ...]
    rows: tuple[SeasonRow, ...]
    notes: tuple[str, ...]

    @property
    def is_empty(self) -> bool:
        """Tell whether nothing is booked, hung or ordered in these weeks."""
        return all(cell.is_empty for row in self.rows for cell in row.cells)


@dataclass(frozen=True, slots=True)
class DayChange:
    """A day that was opened or shut, with the bookings that are collected on it."""

    day: date
    is_open: bool
    bookings: tuple[Booking, ...]
