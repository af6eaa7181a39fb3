"""What promising hands out: frozen records, no database behind them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from collop.measures import Money, UnitPrice, Weight

__all__ = [
    "ComesTo", "Coming", "FreeBy", "FreePart", "PromiseAnswer", "Reminder", "SetAside", "ToCome",
    "Waiting", "WantedBy",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Coming:
    """Weight of a line that may be handed over from `first` to `last`, both days included.

    Parameters
    ----------
    part : str
        ``case`` is there now, ``thaw`` is there and frozen, ``plan`` is in the newest cutting plan,
        ``rail`` hangs and has a day planned.
    count : int
        Whole counts of weight.
    first : date
        From when.
    last : date or None
        Its last day, None if it has none.
    ref : str
        Lot in the case, tag on the rail, or line that is made.
    words : str
        Where it comes from, to be said.
    """

    part: str
    count: int
    first: date
    last: date | None
    ref: str
    words: str

    def is_there(self, day: date) -> bool:
        """Tell whether it may be handed over on `day`."""
        return self.first <= day and (self.last is None or day <= self.last)


@dataclass(frozen=True, slots=True)
class WantedBy:
    """Who wants weight of a line for a day, beyond what is reserved.

    `who` is a booking, such as ``H4``, or a standing order of which the booking of that day is not
    made yet, such as ``standing S1``.
    """

    who: str
    day: date
    weight: Weight


@dataclass(frozen=True, slots=True)
class FreePart:
    """One of the things that make up what is there on a day."""

    part: str
    weight: Weight
    words: str


@dataclass(frozen=True, slots=True)
class FreeBy:
    """What may be promised of a line for `day`.

    `weight` is the sum of the four parts less `wanted`, which other bookings need of them and
    nothing else can give. Parts are what can be handed over on that very day. `others` want the
    line by then or, if nobody does, later and have some of it held. `why_none` says what
    there is but not on that day, such as ``frozen, thawed by Thu 11 Jun``; empty where something
    may be promised.
    """

    case_id: str
    name: str
    day: date
    weight: Weight
    case: Weight
    thaw: Weight
    rail: Weight
    plan: Weight
    wanted: Weight
    parts: tuple[FreePart, ...]
    others: tuple[WantedBy, ...] = ()
    why_none: str = ""


@dataclass(frozen=True, slots=True)
class PromiseAnswer:
    """The answer to a wish for a day: yes, or the nearest yes.

    `most` may be promised for the day asked. `other_day` is the nearest open day on which all of
    it may be, `cousin` a like line of which as much may be on the day asked: `cousin_pieces` of it
    where it is sold by the whole piece.
    """

    case_id: str
    name: str
    day: date
    weight: Weight
    is_yes: bool
    most: Weight
    other_day: date | None
    cousin: str | None
    cousin_name: str
    say: str
    cousin_pieces: int | None = None


@dataclass(frozen=True, slots=True)
class Waiting:
    """Weight in the case, unpromised, that a booking still wants: `weight` of `wanted`."""

    booking_id: str
    name: str
    case_id: str
    case_name: str
    weight: Weight
    wanted: Weight
    collect_at: datetime


@dataclass(frozen=True, slots=True)
class SetAside:
    """What was reserved for a booking out of what came in since."""

    booking_id: str
    say: str


@dataclass(frozen=True, slots=True)
class Reminder:
    """Something to tell a customer.

    `kind` is pick-up, late, asked, short, use-by or standing; `say` is to be said on the telephone.
    """

    kind: str
    booking_id: str
    name: str
    phone_end: str
    at: datetime
    say: str


@dataclass(frozen=True, slots=True)
class ToCome:
    """Weight that a booking still wants of a line, and its money at the price of `since`.

    `unit_price` is the board's of the day on which it was promised, and stays so.
    """

    booking_id: str
    case_id: str
    case_name: str
    weight: Weight
    unit_price: UnitPrice
    money: Money
    since: date


@dataclass(frozen=True, slots=True)
class ComesTo:
    """What a booking comes to with what is still to come: `total` with tax, `due` at hand-over."""

    lines: tuple[ToCome, ...]
    total: Money
    deposit: Money
    due: Money
