"""What the reckoning hands out: frozen records, no database behind them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any, TypeGuard

from collop.measures import Money, Weight, decimal_of

__all__ = [
    "AnimalRow", "AnimalShare", "Bar", "Drift", "Reckoning", "Short", "SlipShare", "SoldLine",
    "Statement",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class SoldLine:
    """What was sold of one animal by one case line, net of what came back."""

    case_id: str
    name: str
    weight: Weight
    money: Money


@dataclass(frozen=True, slots=True)
class Short:
    """A booked line that was short when it was weighed, and why: a loss of the animals it was of.

    `tags` are those animals.
    """

    booking_id: str
    name: str
    short: Weight
    reason: str
    why: str
    at: datetime
    tags: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class AnimalRow:
    """The account of one animal, of one delivery.

    `invoice`, `haulage` and `labour` sum to `cost`; so do `sold_cost`, `left_cost`, `binned_cost`
    and `lost_cost` (what of it was lost to the last count). All of them are None, with `unknown`,
    where the delivery tells no price. `air` was lost on the rail and `air_money` was paid for it;
    `binned_money` of it is in the bin. `sold` is money on slips without tax, less what
    was given back. `left_board` is what the rest brings at the board; of it `left_unpriced` has no
    price there and counts at what was paid, and `left_past` is past its use-by and counts nothing.
    `result` is `sold` less `cost`; `if_sold` is that and `left_board`.
    """

    tag: str
    delivery: int
    species: str
    farm: str
    came: datetime
    state: str
    weighed: Weight
    air: Weight
    sold_weight: Weight
    left: Weight
    left_unpriced: Weight
    left_past: Weight
    binned: Weight
    sold: Money
    left_board: Money
    cost: Money | None
    invoice: Money | None
    haulage: Money | None
    labour: Money | None
    air_money: Money | None
    binned_money: Money | None
    sold_cost: Money | None
    left_cost: Money | None
    binned_cost: Money | None
    lost_cost: Money | None
    result: Money | None
    if_sold: Money | None
    unknown: str = ""
    notes: tuple[str, ...] = ()
    lines: tuple[SoldLine, ...] = ()

    @property
    def air_pct(self) -> Decimal:
        """Return weight lost to air over weight in, in per cent with one decimal."""
        return _pct(self.air.count, self.weighed.count)

    @property
    def if_sold_pct(self) -> Decimal | None:
        """Return the result if the rest sells, in per cent of the cost; None if unknown."""
        if not _some(self.cost) or self.if_sold is None:
            return None
        return _pct(self.if_sold.minor, self.cost.minor)


def _some(money: Money | None) -> TypeGuard[Money]:
    return money is not None and money.minor > 0


def _pct(part: int, whole: int) -> Decimal:
    return decimal_of(Fraction(100 * part, whole), 1)


@dataclass(frozen=True, slots=True)
class Bar:
    """One step of the waterfall from cost to result.

    `kind` is ``cost``, ``air``, ``bin``, ``labour``, ``sold``, ``left`` or ``result``; a step goes
    from `start` to `end`, a result stands from nothing to `end`. `amount` is what it adds.
    """

    name: str
    kind: str
    amount: Money
    start: Money
    end: Money
    weight: Weight | None = None


@dataclass(frozen=True, slots=True)
class Reckoning:
    """One animal with its waterfall, what it was short of, and what there is to say of it."""

    row: AnimalRow
    bars: tuple[Bar, ...]
    shorts: tuple[Short, ...]
    say: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AnimalShare:
    """What one animal has of the money and weight of some slips."""

    tag: str
    money: Money
    weight: Weight


@dataclass(frozen=True, slots=True)
class SlipShare:
    """One slip, or what came back of one, with whose money it is; `rest` is of no animal.

    Of what came back money and weight are below zero. The shares and the rest sum to `money`.
    """

    booking_id: str
    name: str
    kind: str
    at: datetime
    is_return: bool
    money: Money
    animals: tuple[AnimalShare, ...]
    rest: Money


@dataclass(frozen=True, slots=True)
class Statement:
    """The money on the slips of some days, told by animal.

    `slips` is the sum the slips say, `returned` what was given back; `total` is that of all
    shares. It closes if `total` is `slips` less `returned`, to the cent.
    """

    first: date
    last: date
    lines: tuple[SlipShare, ...]
    animals: tuple[AnimalShare, ...]
    rest: Money
    slips: Money
    returned: Money
    total: Money

    @property
    def closes(self) -> bool:
        """Tell whether the money on slips is the reckoning's, to the cent."""
        return self.total == self.slips - self.returned


@dataclass(frozen=True, slots=True)
class Drift:
    """Whether hands or farms give other yields: the plan of the kernel and its problem.

    `shorts` are the lines that were short, newest first: a loss the yields do not show.
    """

    plan: Mapping[str, Any]
    problem: Mapping[str, Any]
    shorts: tuple[Short, ...] = field(default=())
