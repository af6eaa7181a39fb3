"""What a released booking left to sell, and the moves for it: frozen records."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from collop.measures import Money, UnitPrice, Weight
from collop.shop.selling_model import DepositWord

__all__ = ["HomeMove", "Homeless", "Rehoming"]


@dataclass(frozen=True, slots=True)
class HomeMove:
    """One move for what came back: `way` is booking, feature, mark-down, freeze or mince.

    `money` is what it brings, exact and rounded once; moves of one item are for the same weight, so
    they do not add up. `booking` is whom it suits, `price` the marked-down one.
    """

    way: str
    weight: Weight
    money: Money
    words: str
    booking: str | None = None
    price: UnitPrice | None = None


@dataclass(frozen=True, slots=True)
class Homeless:
    """What came back of one line of the case: `came` from the booking, `left` of it still free.

    `value` is that of `came` at the board; work that was done keeps the value of what it was done
    on. `sell_by` is the last hour it can be sold; None if that is over.
    """

    case_id: str
    name: str
    is_meat: bool
    came: Weight
    left: Weight
    lots: tuple[str, ...]
    price: UnitPrice
    value: Money
    use_by: date | None
    days_left: int | None
    sell_by: datetime | None
    moves: tuple[HomeMove, ...]


@dataclass(frozen=True, slots=True)
class Rehoming:
    """A released booking: the meat to re-home, its value at the board, and until when.

    `deposit` is what the shop's written rule says of it.
    """

    booking_id: str
    name: str
    value: Money
    sell_by: datetime | None
    words: str
    items: tuple[Homeless, ...]
    deposit: DepositWord
