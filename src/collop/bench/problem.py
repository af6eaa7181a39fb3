"""What the cutting plan is asked: what hangs, how it may be cut, what is promised and what sells.

Weights and money are exact fractions in the problem's one unit and currency; days are counted from
0, the first day of the plan.  `collop.bench.reading` makes these from JSON.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from collop.measures import Rounding

__all__ = [
    "BenchProblem", "Bin", "Booking", "BookingLine", "Claim", "Cut", "Day", "Ground", "Hand",
    "Kind", "Left", "Lock", "Lot", "Make", "Output", "Piece", "Style",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Day:
    """One day of the plan; customers are served if it is open."""

    date: date
    is_open: bool


@dataclass(frozen=True, slots=True)
class Hand:
    """Somebody at the block.

    Parameters
    ----------
    name : str
        Who.
    minutes, overtime : tuple of Fraction, shape (days,)
        Minutes there are, and minutes there may be beyond them.
    per_hour, overtime_per_hour : Fraction
        Money for an hour that is used; an idle one costs nothing here, its wage is paid anyway.
    cannot : frozenset of str
        Ids of styles this hand does not cut.
    """

    name: str
    minutes: tuple[Fraction, ...]
    overtime: tuple[Fraction, ...]
    per_hour: Fraction
    overtime_per_hour: Fraction
    cannot: frozenset[str]


@dataclass(frozen=True, slots=True)
class Output:
    """One thing a style gives.

    Parameters
    ----------
    to : str
        ``cut`` (a line of the case), ``bin`` (trim), ``kind`` (a large cut, cut further), or
        ``worth`` (sold or thrown at once: bone, fat, loss).
    id, name : str
        Of the cut, bin or kind; the id is empty for ``worth``.
    share, sd : Fraction
        Of the weight of what is cut, and its standard deviation from piece to piece.
    worth : Fraction
        Money per unit of weight, of ``worth`` only.
    """

    to: str
    id: str
    name: str
    share: Fraction
    sd: Fraction = Fraction(0)
    worth: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class Style:
    """A way to cut one kind of piece; the shares of its outputs add up to 1 with the loss."""

    id: str
    name: str
    minutes: Fraction
    outputs: tuple[Output, ...]


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of piece or of large cut, and the styles that exclude one another.

    `holds_days` is how many days a large cut may wait in the cooler before it is cut: 0 is the same
    day.  Of pieces on the rail it is not used.
    """

    id: str
    name: str
    species: str
    styles: tuple[Style, ...]
    holds_days: int = 0


@dataclass(frozen=True, slots=True)
class Claim:
    """A booking that hangs on a piece: so much of its weight as it hangs, due on day `due`.

    The same share of every output leaves with that booking; its money is agreed and not counted.
    """

    booking: str
    name: str
    weight: Fraction
    due: int


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece on the rail.

    Parameters
    ----------
    tag, kind : str
        Its number, and the id of its kind.
    weight : Fraction
        What hangs on day 0.
    shrink_per_day : Fraction
        Share of its weight that goes to air from one day to the next.
    from_day, until_day : int
        First and last day on which it may be broken.
    must : bool
        Whether it has to be broken by then.
    worth_left : Fraction
        Money it stands for at the end if it still hangs, e.g. what such a piece costs.
    claims : tuple of Claim
        Bookings that hang on it.
    """

    tag: str
    kind: str
    weight: Fraction
    shrink_per_day: Fraction
    from_day: int
    until_day: int
    must: bool
    worth_left: Fraction
    claims: tuple[Claim, ...]

    def weight_on(self, day: int) -> Fraction:
        """Return what it weighs on a day, to the thousandth of a unit."""
        exact = self.weight * (1 - self.shrink_per_day) ** day
        return Fraction(round(exact * 1000), 1000)

    @property
    def claimed(self) -> Fraction:
        """Return the share of it that bookings hang on."""
        return min(Fraction(1), sum((one.weight for one in self.claims), Fraction(0)) / self.weight)


@dataclass(frozen=True, slots=True)
class Lot:
    """Stock that may be used on days 0 to `days_left`."""

    weight: Fraction
    days_left: int
    lot: str = ""


@dataclass(frozen=True, slots=True)
class Ground:
    """A cut that may go to a trim bin while it is sound: share that arrives, and the labour."""

    bin: str
    gives: Fraction
    minutes_per_unit: Fraction


@dataclass(frozen=True, slots=True)
class Left:
    """What is left at the end and still sound is worth so much per unit, up to `takes`."""

    worth: Fraction
    takes: Fraction | None


@dataclass(frozen=True, slots=True)
class Cut:
    """A line of the case.

    Parameters
    ----------
    id, name, species : str
        Which.
    price : Fraction
        Board price per unit.
    keeps_days : int
        What is cut on day d may be used on days d to d + keeps_days.
    usual : tuple of Fraction, shape (days,)
        Weight expected to sell each day at the board price.
    elasticity : Fraction
        Its sale at a price p is usual x (p / price)^-elasticity.
    steps : tuple of Fraction
        Prices that may be asked, as shares of the board price, the highest first.
    salvage : Fraction
        Money per unit of what is past its days.
    ground : Ground, optional
        Whether it may become trim.
    left : Left
        What it is worth at the end.
    stock : tuple of Lot
        What is in the case on day 0, oldest first.
    """

    id: str
    name: str
    species: str
    price: Fraction
    keeps_days: int
    usual: tuple[Fraction, ...]
    elasticity: Fraction
    steps: tuple[Fraction, ...]
    salvage: Fraction
    ground: Ground | None
    left: Left
    stock: tuple[Lot, ...]


@dataclass(frozen=True, slots=True)
class Bin:
    """A trim bin: `fat` is its share of fat; what is not made into something brings `worth`."""

    id: str
    name: str
    species: str
    fat: Fraction
    keeps_days: int
    worth: Fraction
    stock: tuple[Lot, ...]


@dataclass(frozen=True, slots=True)
class Make:
    """Mince or links made of trim; they go into the case as the cut `cut`.

    Parameters
    ----------
    cut, name : str
        What it becomes.
    bins : tuple of str
        Bins it may take from.
    fat_max, fat_min : Fraction, optional
        Limits of its meat's share of fat.
    added : Fraction
        Share of the finished weight that is no meat (rusk, water, salt).
    added_cost, cost_per_unit : Fraction
        Money per unit of what is added, and per unit made (casing, wrapping).
    minutes_per_unit : Fraction
        Labour.
    """

    cut: str
    name: str
    bins: tuple[str, ...]
    fat_max: Fraction | None
    fat_min: Fraction | None
    added: Fraction
    added_cost: Fraction
    cost_per_unit: Fraction
    minutes_per_unit: Fraction


@dataclass(frozen=True, slots=True)
class BookingLine:
    """One promised line and its agreed price per unit."""

    cut: str
    weight: Fraction
    price: Fraction


@dataclass(frozen=True, slots=True)
class Booking:
    """A promise due on a day: what is not there by then is short."""

    id: str
    name: str
    due: int
    lines: tuple[BookingLine, ...]


@dataclass(frozen=True, slots=True)
class Lock:
    """A decision taken already: this piece in this style on this day, or kept (both None)."""

    tag: str
    style: str | None
    day: int | None


@dataclass(frozen=True, slots=True)
class BenchProblem:
    """Everything the plan is asked.  `case_room` is the most weight the case holds at night.

    `before` lists the breaks of the last plan, a start for this one; it changes how soon the answer
    is found, not what it is.  `gap` is how near the best the answer must be proven.
    """

    name: str
    currency: str
    rounding: Rounding
    unit: str
    days: tuple[Day, ...]
    hands: tuple[Hand, ...]
    kinds: Mapping[str, Kind]
    rail: tuple[Piece, ...]
    cuts: Mapping[str, Cut]
    bins: Mapping[str, Bin]
    makes: tuple[Make, ...]
    bookings: tuple[Booking, ...]
    case_room: Fraction | None
    locks: tuple[Lock, ...] = ()
    before: tuple[Lock, ...] = ()
    gap: Fraction = Fraction(1, 1000)
    reasons: bool = True
    assumptions: tuple[str, ...] = field(default=())
