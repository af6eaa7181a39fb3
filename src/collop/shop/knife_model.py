"""What the cutting room hands out and takes in: frozen records, no database behind them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction

from collop.measures import Money, Temperature, UnitPrice, Weight, decimal_of

__all__ = [
    "Break",
    "Claim",
    "CountResult",
    "Delivery",
    "Flow",
    "FlowLink",
    "NewDelivery",
    "NewPart",
    "NewPiece",
    "NewStyle",
    "Origin",
    "Part",
    "RailPiece",
    "StockLine",
    "Style",
    "Trace",
    "TracedLot",
    "Weighing",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class NewPiece:
    """One thing to hang: `piece` says what of the animal it is, e.g. ``beef forequarter``."""

    tag: str
    what: str
    piece: str
    weight: Weight


@dataclass(frozen=True, slots=True)
class NewDelivery:
    """An animal at the door.

    `invoiced` is the weight on the paper; the pieces carry the scale's. `price` is per weight of
    the invoice. `papers` names those that came; `arrived_warm_as_law_allows` takes in what is
    over the limit, to be cooled within the published time. Without a `temperature`,
    `not_measured_because` must say why. `establishment` is the number on the inspection mark.
    """

    tag: str
    species: str
    farm: str
    pieces: Sequence[NewPiece]
    invoiced: Weight
    killed_on: date | None = None
    is_hot: bool = False
    temperature: Temperature | None = None
    papers: Sequence[str] = ()
    price: UnitPrice | None = None
    haulage: Money | None = None
    note: str = ""
    arrived_warm_as_law_allows: bool = False
    not_measured_because: str = ""
    establishment: str = ""


@dataclass(frozen=True, slots=True)
class Delivery:
    """What came through the door, as it was written down."""

    number: int
    tag: str
    species: str
    farm: str
    killed_on: date | None
    invoiced: Weight
    weighed: Weight
    is_hot: bool
    temperature: Temperature | None
    cool_by: datetime | None
    papers: tuple[str, ...]
    papers_missing: tuple[str, ...]
    price: UnitPrice | None
    haulage: Money
    cost: Money | None
    note: str
    at: datetime
    by: str | None
    establishment: str = ""

    @property
    def gap(self) -> Weight:
        """Return scale less invoice: below zero, less came than was billed."""
        return self.weighed - self.invoiced

    @property
    def days_since_kill(self) -> int | None:
        """Return whole days from kill to the door."""
        return None if self.killed_on is None else (self.at.date() - self.killed_on).days


@dataclass(frozen=True, slots=True)
class Claim:
    """A booking that hangs on a rail piece; `weight` is of the piece as it hangs."""

    booking_id: str
    name: str
    weight: Weight
    note: str


@dataclass(frozen=True, slots=True)
class RailPiece:
    """One tagged thing that hangs.

    `lost` went to air since it came, `lost_money` is what was paid for that weight. `paid` is the
    piece's share of invoice and haulage. `draw_price` is `paid` over the saleable weight that is
    expected from it today.
    """

    tag: str
    species: str
    what: str
    piece: str | None
    farm: str
    days: int
    weight_in: Weight
    weight_now: Weight
    planned_break: str
    break_on: date | None
    paid: Money | None
    lost_money: Money | None
    saleable_share: Fraction | None
    draw_price: UnitPrice | None
    claims: tuple[Claim, ...]
    is_late: bool

    @property
    def lost(self) -> Weight:
        """Return the weight lost to air so far."""
        return self.weight_in - self.weight_now

    @property
    def shrink_pct(self) -> Decimal:
        """Return weight lost over weight in, in per cent with one decimal."""
        lost = (self.weight_in.count - self.weight_now.count) * 100
        return decimal_of(Fraction(lost, self.weight_in.count), 1)


@dataclass(frozen=True, slots=True)
class NewPart:
    """A part of a cutting style: share of the piece, where it goes, and its case line if it has."""

    name: str
    kind: str
    place: str
    share: Fraction
    case_id: str | None = None
    keeps_days: int | None = None


@dataclass(frozen=True, slots=True)
class NewStyle:
    """A way to cut a piece; the shares of its parts add up to 1 with the loss."""

    id: str
    species: str
    piece: str
    name: str
    parts: Sequence[NewPart]
    labour_minutes: int | None = None
    source: str = "the shop's own figures"


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a style, as stored."""

    id: int
    name: str
    kind: str
    place: str
    share: Fraction
    case_id: str | None
    keeps_days: int | None


@dataclass(frozen=True, slots=True)
class Style:
    """A way to cut a piece, its parts in the order the knife meets them."""

    id: str
    species: str
    piece: str
    name: str
    labour_minutes: int | None
    source: str
    parts: tuple[Part, ...]

    @property
    def saleable_share(self) -> Fraction:
        """Return the share that is expected to be sold: cuts and trim."""
        return sum((p.share for p in self.parts if p.kind in {"cut", "trim"}), Fraction(0))

    @property
    def loss_share(self) -> Fraction:
        """Return the share that is expected as saw dust, drip and drying at the block."""
        return sum((p.share for p in self.parts if p.kind == "loss"), Fraction(0))


@dataclass(frozen=True, slots=True)
class Weighing:
    """One part put on the scale; `taken_back` if it was undone."""

    seq: int
    lot_id: str
    part: str
    kind: str
    place: str
    case_id: str | None
    weight: Weight
    at: datetime
    by: str | None
    taken_back: bool


@dataclass(frozen=True, slots=True)
class Break:
    """One piece under the knife: start + found = parts + left.

    `claims` are the bookings that hang on it.
    """

    number: int
    tag: str
    what: str
    style: Style
    start: Weight
    left: Weight
    weighings: tuple[Weighing, ...]
    is_open: bool
    loss: Weight
    why: str
    at: datetime
    by: str | None
    claims: tuple[Claim, ...] = ()

    @property
    def parts(self) -> tuple[Weighing, ...]:
        """Return the weighings that stand."""
        return tuple(one for one in self.weighings if not one.taken_back)

    @property
    def weighed(self) -> Weight:
        """Return the sum of what was weighed."""
        return Weight(sum(one.weight.count for one in self.parts), self.start.unit)


@dataclass(frozen=True, slots=True)
class CountResult:
    """A count: `gap` is counted less expected."""

    number: int
    what: str
    place: str
    expected: Weight
    counted: Weight
    at: datetime

    @property
    def gap(self) -> Weight:
        """Return counted less expected."""
        return self.counted - self.expected


@dataclass(frozen=True, slots=True)
class StockLine:
    """What one lot has at one place."""

    lot_id: str
    what: str
    species: str
    place: str
    case_id: str | None
    weight: Weight
    use_by: date | None


@dataclass(frozen=True, slots=True)
class TracedLot:
    """A lot on a trace; `depth` counts links from the lot asked for, up or down."""

    lot_id: str
    parent_id: str | None
    what: str
    kind: str
    weight: Weight
    at: datetime
    depth: int
    where: tuple[tuple[str, Weight], ...]
    bookings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Origin:
    """Where an animal came from; `establishment` is the plant's number, empty if not told."""

    tag: str
    species: str
    farm: str
    killed_on: date | None
    arrived: datetime | None
    establishment: str = ""


@dataclass(frozen=True, slots=True)
class Trace:
    """The line from a lot up to its animal, and every other lot of that animal."""

    asked: str
    up: tuple[TracedLot, ...]
    sisters: tuple[TracedLot, ...]
    origins: tuple[Origin, ...]


@dataclass(frozen=True, slots=True)
class FlowLink:
    """Weight that went from one node to another."""

    source: str
    target: str
    weight: Weight


@dataclass(frozen=True, slots=True)
class Flow:
    """Where every pound went: `links` between named nodes; `into` is what came in.

    `money_lost` was paid for what was lost; `money_is_whole` tells whether the price of all of that
    is known.
    """

    title: str
    into: Weight
    links: tuple[FlowLink, ...]
    money_lost: Money | None
    money_is_whole: bool
