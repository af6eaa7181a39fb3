"""What freezer orders hand out and take in: frozen records, no database behind them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from collop.measures import Money, Weight
from collop.shop.model import Booking

__all__ = ["FreezerOrder", "FreezerPiece", "Given", "NewFreezerOrder", "Packed", "PackedFrom"]


@dataclass(frozen=True, slots=True)
class FreezerPiece:
    """Something a household may have a share of.

    `tag` is a rail tag, or a lot that waits on the block; `piece` is a piece of the animal and
    `large_cuts` which of it there are, all if empty. `weight` is what is there, `free` what no
    booking hangs on and no freezer order has. `trimmed` says that it has been under the knife.
    """

    tag: str
    what: str
    species: str
    piece: str
    large_cuts: tuple[str, ...]
    weight: Weight
    free: Weight
    trimmed: bool
    is_hot: bool = False


@dataclass(frozen=True, slots=True)
class Given:
    """What an order that is not packed yet has of a piece or lot."""

    booking_number: int
    name: str
    weight: Weight

    @property
    def booking_id(self) -> str:
        """Return the booking as it is called."""
        return f"H{self.booking_number}"


@dataclass(frozen=True, slots=True)
class NewFreezerOrder:
    """An order to book: for a booking there is, or a new one.

    Parameters
    ----------
    problem : mapping
        The ``collop.freezer/1`` problem that was shown; each part names its `tag`.
    total : Money
        The total the customer has seen.
    booking_id : str
        A booking that gets this order; empty for a new one, which needs the rest.
    """

    problem: Mapping[str, Any]
    total: Money
    booking_id: str = ""
    name: str = ""
    collect_at: datetime | None = None
    phone_end: str = ""
    deposit: Money | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class FreezerOrder:
    """A booked order; `settled_at` once its packs were weighed. `total` is what it comes to."""

    booking: Booking
    problem: Mapping[str, Any]
    plan: Mapping[str, Any]
    total: Money
    at: datetime
    by: str | None
    settled_at: datetime | None


@dataclass(frozen=True, slots=True)
class PackedFrom:
    """A lot that packs of an order may come from: what it has at one place, free."""

    tag: str
    lot_id: str
    what: str
    place: str
    weight: Weight


@dataclass(frozen=True, slots=True)
class Packed:
    """What was packed of one lot: its net weight, and how many packs."""

    lot_id: str
    place: str
    weight: Weight
    packs: int = 1
