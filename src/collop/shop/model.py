"""What the shop hands out and takes in: frozen records, no database behind them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from decimal import Decimal
from enum import StrEnum
from typing import Any

from collop.measures import Money, Rounding, UnitPrice, Weight, WeightUnit, sum_money
from collop.rules.taxing import TaxClass
from collop.shop.bench_choices import BenchHand
from collop.shop.fire_model import CaseCook
from collop.shop.till_model import SlipTotals

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
_SCALE_STEP = Weight.of("0.02", WeightUnit.LB)


def _starting_worths() -> dict[str, Decimal]:
    return {
        "trim": Decimal(3), "fat": Decimal("0.3"), "bone": Decimal("0.2"),
        "fat_bone": Decimal(0), "scrap": Decimal(0),
    }  # fmt: skip


@dataclass(frozen=True, slots=True)
class Settings:
    """The shop's own choices.

    `open_days` counts Monday as 0. `scale_step` is the standard deviation of one reading of the
    bench scale. `rail_carries` is the most that may hang. `papers` must come with an animal.
    `demo_start` is when a demo shop's clock begins.

    Of prices: `target_margin` is the share of sales to be left after cost; `labour_per_hour` is
    money; `price_jump` is the share of the price in force beyond which a change needs a reason;
    prices end on one of `price_endings`, or, without any, on a multiple of `price_step`; `worths`
    is money per legal unit of parts that are no cuts, by kind; `moves_from` is when the last-days
    list of the day begins; `price_cap` is how many times its price a cut may rise. All of these
    begin with figures of ours, not published ones: put in your own.

    Of the cutting room: `hands` are at the block, with their minutes; `case_room` is the most
    weight the case holds at night, None for no limit; `cut_room_f` is how warm the room is in
    degrees F, which says how often it is cleaned down.

    Of the till: `tax_classes` are the shop's own, none at the start; `tax_per` says what of a slip
    is rounded to the cent, `cash_rounding` how its total is paid in cash; see
    `collop.rules.taxing`.
    """

    name: str
    place: str = ""
    currency: str = "USD"
    rounding: Rounding = Rounding.HALF_UP
    legal_unit: WeightUnit = WeightUnit.LB
    quote_hold_minutes: int = 60
    demo: bool = False
    open_days: tuple[int, ...] = (1, 2, 3, 4, 5)
    opens: time = time(8, 0)
    closes: time = time(18, 0)
    closed_dates: tuple[date, ...] = ()
    scale_step: Weight = _SCALE_STEP
    rail_carries: Weight | None = None
    papers: tuple[str, ...] = ("inspection mark", "invoice")
    demo_start: datetime | None = None
    target_margin: Decimal = Decimal("0.35")
    labour_per_hour: Decimal = Decimal(24)
    price_jump: Decimal = Decimal("0.15")
    price_endings: tuple[Decimal, ...] = ()
    price_step: Decimal = Decimal("0.05")
    worths: Mapping[str, Decimal] = field(default_factory=_starting_worths)
    moves_from: time = time(16, 0)
    price_cap: Decimal = Decimal("1.25")
    hands: tuple[BenchHand, ...] = ()
    case_room: Weight | None = None
    cut_room_f: Decimal = Decimal(50)
    tax_classes: tuple[TaxClass, ...] = ()
    tax_per: str = "invoice"
    cash_rounding: str = "off"

    def is_open(self, day: date) -> bool:
        """Tell whether customers are served on `day`."""
        return day.weekday() in self.open_days and day not in self.closed_dates


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
    """Somebody who works here."""

    id: str
    name: str
    role: str = ""


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

    `weight` was promised; `held` is reserved at this moment; `weighed` is what the scale said at
    hand-over, None before. `use_by` is that of the oldest lot it holds.
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
    """A promised order. Its state is that of its last event; `kind` as in `NewBooking`."""

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

    @property
    def total(self) -> Money:
        """Return the sum of the promised lines."""
        return sum_money((line.line_total for line in self.lines), self.deposit.currency)

    @property
    def out_of_date(self) -> tuple[BookingLine, ...]:
        """Return the held lines whose use-by comes before collection."""
        day = self.collect_at.date()
        return tuple(line for line in self.lines if line.use_by and line.use_by < day)


@dataclass(frozen=True, slots=True)
class SlipLine:
    """One line of a slip: money is for the weighed net weight."""

    line_id: str
    case_id: str
    name: str
    booked: Weight
    weighed: Weight
    unit_price: UnitPrice
    line_total: Money


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
