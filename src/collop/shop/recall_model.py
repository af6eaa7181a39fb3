"""What a recall finds: frozen records, no database behind them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from collop.measures import Money, Weight, decimal_of
from collop.shop.knife_model import Origin

__all__ = [
    "HERE", "AffectedLot", "Balance", "Customer", "Drill", "FoundTicket", "NewDrill", "Recall",
    "Scope", "Taken", "TouchedMaking",
]  # fmt: skip

#: Places where weight still lies in the shop; it is what a recall holds first.
HERE = ("rail", "block", "case", "booked", "trim", "bone", "fat")
#: How far up a recall begins: at the animals and bought-in lots, or at the lot itself.
Scope = str


@dataclass(frozen=True, slots=True)
class AffectedLot:
    """A lot with recalled weight in it.

    `share` is the part of what was put into it that comes from the recalled lots; the rest of a
    mince lot lies mixed with it, so all of it is affected. `where` is what it has now, by place.
    """

    lot_id: str
    what: str
    kind: str
    species: str
    case_id: str | None
    made: datetime
    weight_in: Weight
    share: Fraction
    from_lots: tuple[str, ...]
    where: tuple[tuple[str, Weight], ...]

    @property
    def here(self) -> Weight:
        """Return what of it is still in the shop."""
        unit = self.weight_in.unit
        return Weight(sum(weight.count for place, weight in self.where if place in HERE), unit)

    @property
    def where_here(self) -> tuple[tuple[str, Weight], ...]:
        """Return where in the shop it lies, by place."""
        return tuple((place, weight) for place, weight in self.where if place in HERE)

    @property
    def share_pct(self) -> str:
        """Return the share in per cent, with one decimal."""
        return str(decimal_of(100 * self.share, 1))


@dataclass(frozen=True, slots=True)
class Taken:
    """Weight of one affected lot that a booking holds or took."""

    lot_id: str
    what: str
    weight: Weight
    is_sold: bool
    at: datetime | None


@dataclass(frozen=True, slots=True)
class Customer:
    """Somebody to call. Of a phone number the shop keeps the last four digits only."""

    booking_id: str
    name: str
    phone_end: str
    collect_at: datetime
    state: str
    taken: tuple[Taken, ...]

    @property
    def has_it(self) -> bool:
        """Tell whether any of it has left the shop."""
        return any(one.is_sold for one in self.taken)


@dataclass(frozen=True, slots=True)
class FoundTicket:
    """A ticket that was printed for an affected lot."""

    ticket_id: str
    lot_id: str
    what: str
    net: Weight
    total: Money
    at: datetime
    booking_id: str | None
    is_void: bool


@dataclass(frozen=True, slots=True)
class TouchedMaking:
    """A mince lot or batch that recalled weight went into."""

    code: str
    kind: str
    name: str
    lot_id: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Balance:
    """Mass balance of a recall, exact.

    `came_in` is what the recalled lots brought; `others` what other lots and the scale put into
    the affected lots beside it. `places` is where the sum of both is. `error` is how far the scale
    may be off over the weighings of these lots (one standard deviation each, added as squares).
    """

    came_in: Weight
    others: Weight
    places: tuple[tuple[str, Weight], ...]
    error: Weight

    @property
    def found(self) -> Weight:
        """Return all that is accounted for."""
        return Weight(sum(weight.count for _, weight in self.places), self.came_in.unit)

    @property
    def gap(self) -> Weight:
        """Return what is found less what came in; below zero, some is missing."""
        return self.found - self.came_in - self.others

    @property
    def found_pct(self) -> str:
        """Return found weight in per cent of what came in, with two decimals."""
        total = self.came_in.count + self.others.count
        if not total:
            return "100.00"
        return str(decimal_of(Fraction(100 * self.found.count, total), 2))

    @property
    def closes(self) -> bool:
        """Tell whether all of it is found."""
        return self.gap.count == 0


@dataclass(frozen=True, slots=True)
class Recall:
    """The answer to a recall: where it began, what is affected, where it is, whom to call."""

    asked: str
    scope: Scope
    at: datetime
    origins: tuple[Origin, ...]
    roots: tuple[str, ...]
    chain: tuple[str, ...]
    lots: tuple[AffectedLot, ...]
    customers: tuple[Customer, ...]
    tickets: tuple[FoundTicket, ...]
    makings: tuple[TouchedMaking, ...]
    balance: Balance
    walk_in: Weight

    @property
    def here(self) -> tuple[AffectedLot, ...]:
        """Return the lots of which weight is still in the shop: hold these first."""
        return tuple(lot for lot in self.lots if lot.here.count > 0)


@dataclass(frozen=True, slots=True)
class NewDrill:
    """A mock recall to be kept.

    Parameters
    ----------
    begun_at : datetime
        When the question was asked, shop-local.
    milliseconds : int
        How long the answer took.
    counted : Weight or None
        What people found on hand, on the scale; None if nothing was weighed.
    note : str
        A word, at most 200 characters.
    """

    begun_at: datetime
    milliseconds: int
    counted: Weight | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Drill:
    """A mock recall that was kept: how long the answer took, and how much was found."""

    number: int
    lot_id: str
    begun_at: datetime
    ended_at: datetime
    milliseconds: int
    found_pct: str
    counted_pct: str | None
    note: str
    by: str | None

    @property
    def minutes(self) -> int:
        """Return whole minutes from the question to the end, rounded up."""
        return -(-int((self.ended_at - self.begun_at).total_seconds()) // 60)
