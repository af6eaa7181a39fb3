"""What the shop hands out and takes in: frozen records, no database behind them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum
from typing import Any

from collop.measures import Money, Rounding, UnitPrice, Weight, sum_money
from collop.shop.bench_choices import BenchHand
from collop.shop.fire_model import CaseCook
from collop.shop.settings_model import Settings
from collop.shop.till_model import SlipTotals
from collop.shop.works_model import ToppedUp, Worked

__all__ = [
    "BenchHand",
    "BoardChange",
    "BoardValue",
    "Booking",
    "BookingEvent",
    "BookingLine",
    "CaseLine",
    "NewBooking",
    "NewLine",
    "Person",
    "Quote",
    "QuoteLine",
    "SettingChange",
    "Settings",
    "Slip",
    "SlipLine",
    "SlipTotals",
    "State",
]


class State(StrEnum):
    """How far a booking has come."""

    ASKED = "asked"
    BOOKED = "booked"
    CUT = "cut"
    PACKED = "packed"
    GONE = "gone"
    OFF = "off"

    @property
    def holds(self) -> bool:
        """Tell whether a booking in this state keeps its weight reserved."""
        return self not in {State.GONE, State.OFF}


_NOTHING = Weight.zero()


@dataclass(frozen=True, slots=True)
class SettingChange:
    """A setting that was changed: from what to what, as kept, by whom, when and why."""

    name: str
    before: Any
    value: Any
    at: datetime
    by: str | None
    why: str


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who works here, or did until `here` was no more."""

    id: str
    name: str
    role: str = ""
    here: bool = True


@dataclass(frozen=True, slots=True)
class CaseLine:
    """One line of the case: on hand = booked + free + past, all from the ledger.

    `past` is unpromised stock past its use-by: it is not free, and waits to be binned.

    `piece_lb` lists the free pieces of goods sold whole, and is None for goods sold by weight.
    `cover_days` is free weight over the usual daily pace. `lot` and `use_by` are those of the
    oldest stock that is left. `cook` is how it is cooked, None if nobody told.
    """

    id: str
    name: str
    species: str
    form: str
    price: UnitPrice
    on_hand: Weight
    booked: Weight
    free: Weight
    boneless_fraction: Decimal
    contains: tuple[Any, ...]
    casing: str | None
    grill_sq_in_per_lb: Decimal
    minutes: tuple[int, int]
    method: str
    use_by: date | None
    days_left: int | None
    styles: Mapping[str, float]
    slots: tuple[str, ...]
    piece_lb: tuple[Weight, ...] | None
    neighbour: str | None
    cover_days: Decimal | None
    cook_as: str
    lot: str | None
    past: Weight = _NOTHING
    cook: CaseCook | None = None

    @property
    def is_past(self) -> bool:
        """Tell whether its use-by date is over."""
        return self.days_left is not None and self.days_left < 0


@dataclass(frozen=True, slots=True)
class BoardValue:
    """What the case is worth at board prices, summed exactly and rounded once."""

    on_hand: Money
    free: Money


@dataclass(frozen=True, slots=True)
class BoardChange:
    """A price that was put on the board: from when, by whom and why."""

    case_id: str
    price: UnitPrice
    from_at: datetime
    entered_at: datetime
    by: str | None
    why: str


@dataclass(frozen=True, slots=True)
class NewLine:
    """A line somebody wants.

    `pieces` names the piece weights of goods sold whole; left out, `weight` must be that of whole
    pieces, oldest first. `unit_price` is the price the customer saw; left out, the board's.
    """

    case_id: str
    weight: Weight
    pieces: tuple[Weight, ...] | None = None
    style: str | None = None
    unit_price: UnitPrice | None = None


@dataclass(frozen=True, slots=True)
class NewBooking:
    """An order somebody places. Of `phone_end` the last four digits are kept, no more.

    `kind` is order, counter (a sale at the glass, gone at once), standing or freezer.
    `deposit_way` is how the deposit was paid: cash, card or other; empty, it is not noted.
    """

    name: str
    collect_at: datetime
    by: str
    phone_end: str = ""
    heads: int | None = None
    ask: Mapping[str, Any] = field(default_factory=dict)
    lines: tuple[NewLine, ...] = ()
    note: str = ""
    deposit: Money | None = None
    state: State = State.BOOKED
    kind: str = "order"
    deposit_way: str = ""


@dataclass(frozen=True, slots=True)
class QuoteLine:
    """One line of a quote, with the price it is held at."""

    case_id: str
    name: str
    weight: Weight
    pieces: tuple[Weight, ...] | None
    style: str | None
    unit_price: UnitPrice
    line_total: Money


@dataclass(frozen=True, slots=True)
class Quote:
    """Prices shown to a customer, held until `held_until`; it reserves no weight."""

    id: str
    lines: tuple[QuoteLine, ...]
    ask: Mapping[str, Any]
    plan: Mapping[str, Any] | None
    say: str | None
    total: Money
    made_at: datetime
    held_until: datetime

    def has_lapsed(self, now: datetime) -> bool:
        """Tell whether the holding time is over at `now`."""
        return now > self.held_until


@dataclass(frozen=True, slots=True)
class BookingLine:
    """One promised line.

    `weight` was promised; `held` is reserved at this moment; `weighed` is what was paid for at
    hand-over, None before. `use_by` is that of the oldest lot it holds, `lots` are what it holds;
    of a line that holds nothing any more, what it held.

    `off` lines were swapped or left out: they hold and cost nothing. `worked` is what was worked
    on: bone taken out is paid for, and no longer there. `ready` is what the scale said before the
    customer came, None if it was not weighed ahead. `held_as` is what is held by line of the case:
    what was worked on is held as the line it became. `topped_up` are the lines that fill what it
    is short by.
    """

    id: str
    case_id: str
    name: str
    weight: Weight
    held: Weight
    pieces: tuple[Weight, ...] | None
    style: str | None
    unit_price: UnitPrice
    line_total: Money
    lots: tuple[str, ...]
    use_by: date | None
    weighed: Weight | None
    off: bool = False
    worked: Worked = field(default_factory=Worked)
    ready: Weight | None = None
    held_as: tuple[tuple[str, Weight], ...] = ()
    topped_up: tuple[ToppedUp, ...] = ()

    @property
    def bought(self) -> Weight:
        """Return the weight that is paid for now: of what was weighed ahead, else as booked."""
        return self.weight if self.ready is None else self.paid_for(self.ready)

    def comes_to(self, rule: Rounding) -> Money:
        """Return the money of what is paid for now, rounded once by `rule`."""
        return self.unit_price.line(self.bought, rule)

    @property
    def missing(self) -> Weight:
        """Return what it is short by; a gap that was topped up counts as filled.

        Weighed again after that, it is short by what became less since.
        """
        if self.off or self.ready is None:
            return _NOTHING
        wanted = self.weight
        for one in self.topped_up:
            wanted = min(wanted, _NOTHING if one.ready is None else self.paid_for(one.ready))
        return max(_NOTHING, wanted - self.bought)

    @property
    def to_swap(self) -> Weight:
        """Return what of it a swap must make up for: what was topped up has its stand-in."""
        return self.bought if self.topped_up else self.weight

    def paid_for(self, scale: Weight) -> Weight:
        """Return the bought weight of what the scale says; see `Worked.paid_for`."""
        return Weight(self.worked.paid_for(scale.count), scale.unit)


@dataclass(frozen=True, slots=True)
class BookingEvent:
    """Something that happened to a booking."""

    what: str
    state: State
    at: datetime
    by: str | None
    why: str


@dataclass(frozen=True, slots=True)
class Booking:
    """A promised order. Its state is that of its last event; `kind` as in `NewBooking`.

    `agreed` is the total of its freezer order as long as that is not packed: it has no lines yet.
    """

    id: str
    name: str
    phone_end: str
    collect_at: datetime
    heads: int | None
    ask: Mapping[str, Any]
    lines: tuple[BookingLine, ...]
    note: str
    deposit: Money
    by: str | None
    state: State
    made_at: datetime
    quote_id: str | None
    events: tuple[BookingEvent, ...]
    kind: str = "order"
    agreed: Money | None = None

    @property
    def total(self) -> Money:
        """Return the sum of the promised lines, without those that are off, and of `agreed`."""
        lines = sum_money((line.line_total for line in self.standing), self.deposit.currency)
        return lines if self.agreed is None else lines + self.agreed

    @property
    def standing(self) -> tuple[BookingLine, ...]:
        """Return the lines that were neither swapped nor left out."""
        return tuple(line for line in self.lines if not line.off)

    @property
    def out_of_date(self) -> tuple[BookingLine, ...]:
        """Return the held lines whose use-by comes before collection."""
        day = self.collect_at.date()
        return tuple(line for line in self.lines if line.use_by and line.use_by < day)


@dataclass(frozen=True, slots=True)
class SlipLine:
    """One line of a slip: money is for the weighed net weight.

    `weighed` counts bone that was taken out for the customer: `lost` of it is not in the parcel.
    `half_cent` names the rounding rule where the exact money ends on half a cent.
    """

    line_id: str
    case_id: str
    name: str
    booked: Weight
    weighed: Weight
    unit_price: UnitPrice
    line_total: Money
    lost: Weight = _NOTHING
    half_cent: str = ""


@dataclass(frozen=True, slots=True)
class Slip:
    """What was handed over and what is to pay; `due` below zero is to be given back.

    `total` is the sum of the lines; `charged` has the tax on them and what is paid in cash.
    """

    booking_id: str
    lines: tuple[SlipLine, ...]
    total: Money
    deposit: Money
    at: datetime
    by: str | None
    charged: SlipTotals

    @property
    def due(self) -> Money:
        """Return the total with tax, less the deposit."""
        return self.charged.due
