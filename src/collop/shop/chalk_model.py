"""What the board and its workings hand out and take in: frozen records, no database behind them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from collop.measures import Money, UnitPrice, Weight

__all__ = [
    "BoardLine",
    "ChalkAnimal",
    "ChalkPart",
    "LotCost",
    "Move",
    "NewPrice",
    "PriceGuard",
    "WeekOfSales",
]


@dataclass(frozen=True, slots=True)
class BoardLine:
    """One line of the board as customers see it: no cost, no stock.

    `per_lb` and `per_kg` are the price in both units; the one it was set in is exact and in force,
    the other is rounded for display. `since` is when the price in force began.
    """

    case_id: str
    name: str
    species: str
    form: str
    price: UnitPrice
    per_lb: Money
    per_kg: Money
    since: datetime
    is_out: bool


@dataclass(frozen=True, slots=True)
class NewPrice:
    """A price somebody wants on the board."""

    case_id: str
    price: UnitPrice


@dataclass(frozen=True, slots=True)
class PriceGuard:
    """Why a price needs a reason before it goes on the board.

    `kind` is ``under cost`` or ``jump``; `limit` is the cost, or the furthest price without a
    reason; `say` is one sentence with both figures.
    """

    case_id: str
    name: str
    kind: str
    price: UnitPrice
    limit: UnitPrice
    say: str


@dataclass(frozen=True, slots=True)
class LotCost:
    """What is on hand of one lot at one place, and what it cost.

    `cost` is of `weight`; None, with `unknown`, where the ledger does not know what was paid.
    `invoice`, `haulage`, `labour` and `credit` sum to `cost`. `credit` is below zero on cuts, for
    the by-products taken off them, and above zero on the by-products themselves. `shrink` is the
    part of invoice and haulage that was paid for weight since lost. `notes` is what was assumed.
    """

    lot_id: str
    what: str
    place: str
    case_id: str | None
    weight: Weight
    cost: Money | None
    per_unit: UnitPrice | None
    invoice: Money | None
    haulage: Money | None
    labour: Money | None
    credit: Money | None
    shrink: Money | None
    unknown: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ChalkAnimal:
    """A rail piece, hanging or broken, whose board can be worked out."""

    tag: str
    what: str
    species: str
    weight: Weight
    state: str
    day: date
    cost: Money | None


@dataclass(frozen=True, slots=True)
class ChalkPart:
    """One part of a `ChalkAnimal`: what it weighs, what left of it, and its line on the board."""

    name: str
    kind: str
    case_id: str | None
    weight: Weight
    sold: Weight
    price: UnitPrice | None


@dataclass(frozen=True, slots=True)
class Move:
    """Something to do with stock in its last days, with what it is worth.

    `way` is ``price``, ``convert``, ``freeze`` or ``bin``; `gain` is its value less that of leaving
    the price alone and letting what is left pass its day. `plan` is the whole mark-down plan,
    `problem` what it was worked out from.
    """

    case_id: str
    name: str
    weight: Weight
    days_left: int
    way: str
    price: UnitPrice | None
    gain: Money
    value: Money
    say: str
    plan: Mapping[str, Any] = field(default_factory=dict)
    problem: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class WeekOfSales:
    """What one case line sold in one week (from a Monday), and the mean price it sold at."""

    monday: date
    weight: Weight
    money: Money
    price: Decimal
