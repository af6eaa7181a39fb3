"""A pick-up as the shop hands it out: each line weighed ahead, and the ways out of a short one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from collop.measures import Money, Weight
from collop.shop.model import Booking, BookingLine, State
from collop.shop.pickup_going import Hindrance
from collop.shop.pickup_money import MoneyNow
from collop.shop.pickup_stand_ins import StandIn
from collop.shop.pickup_words import Plate
from collop.shop.renewing import Renewal
from collop.shop.works_model import Work

__all__ = ["Pickup", "PickupLine", "Stopped", "Way"]


@dataclass(frozen=True, slots=True)
class Way:
    """One way out of a line: `what` is take, top up, swap or left out.

    `money` is what the line then comes to, with what comes instead; `total` that of the whole
    booking with tax, `due` less the deposit. `words` is one sentence for the customer.
    """

    what: str
    instead: StandIn | None
    money: Money
    total: Money
    due: Money
    words: str


@dataclass(frozen=True, slots=True)
class PickupLine:
    """One line of a pick-up.

    `money` is for what was weighed, else for what was booked; `short` is zero where nothing is
    missing. `reason` is why, `lots` against which it is kept. `half_cent` names the rounding rule
    where it decided. `ways` are those out of a line that stands. `renewal` is told where what it
    holds does not keep until it is collected.
    """

    line: BookingLine
    short: Weight
    short_pct: int
    reason: str
    why: str
    lots: tuple[str, ...]
    money: Money
    half_cent: str
    plate: Plate | None
    ways: tuple[Way, ...]
    renewal: Renewal | None = None


@dataclass(frozen=True, slots=True)
class Pickup:
    """A booking before its customer comes; `is_ready` when every line is weighed.

    `total` and `due` are those of now; `money` has those of the booking beside them. `hindrance`
    says why it cannot be handed over yet, None if it can.
    """

    booking: Booking
    lines: tuple[PickupLine, ...]
    total: Money
    due: Money
    is_ready: bool
    rule: str
    money: MoneyNow
    hindrance: Hindrance | None

    @property
    def may_pack(self) -> bool:
        """Tell whether it can be marked packed now."""
        return (
            self.is_ready
            and self.hindrance is None
            and self.booking.state in {State.BOOKED, State.CUT}
        )

    @property
    def short(self) -> tuple[PickupLine, ...]:
        """Return the lines that are short."""
        return tuple(one for one in self.lines if one.short_pct or one.short)


@dataclass(frozen=True, slots=True)
class Stopped:
    """What an allergen told late took off a booking, and what is left of the food.

    `weight` and `money` are those of the lines that came off; `left_lb` the boneless-equivalent
    pounds that stay, of meat; `work` what was done on the lines already. `by` took the call.
    """

    booking: Booking
    allergen: str
    lines: tuple[BookingLine, ...]
    weight: Weight
    money: Money
    left: Weight
    work: tuple[Work, ...]
    at: datetime
    by: str | None
    words: tuple[str, ...]
