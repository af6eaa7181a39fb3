"""The answer as frozen data, and its JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from typing import Any

from collop.measures import Money, decimal_of
from collop.spread.options import Option

__all__ = ["Cousin", "CurvePoint", "Line", "Load", "Spread", "SpreadPlan", "Yes", "plan_json"]


@dataclass(frozen=True, slots=True)
class Cousin:
    """A neighbour of a line; `less_*` is what the line saves against it (negative: costs more)."""

    offer_id: str
    name: str
    price_per_lb: Money
    style: str
    serving_cost: Money
    less_per_lb: Money
    less_per_serving: Money
    percent: int


@dataclass(frozen=True, slots=True)
class Load:
    """One stage of one load on a part of the fire [min from its lighting, sq in].

    `ready_min` is the end of its rest, `eat_min` when it is eaten; `wave` says which load of its
    line it is, from 1.  Food without meat that cannot go first lies on a tray of its own.
    """

    at_min: int
    minutes: int
    zone: str
    area_sq_in: Fraction
    offer_id: str
    heat: str
    wave: int
    ready_min: int
    eat_min: int
    own_tray: bool


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a spread."""

    option: Option
    mlb: int
    pieces_mlb: tuple[int, ...] | None
    slot: str | None
    total: Money
    serving_cost: Money
    portion_oz: Fraction
    share: Fraction
    oz: Fraction
    meals: Fraction
    slow: bool
    pinned: bool
    not_for: tuple[str, ...]
    cook_to: Mapping[str, Any] | None
    reason: str
    cousins: tuple[Cousin, ...]


@dataclass(frozen=True, slots=True)
class Spread:
    """One alternative with its proof."""

    aim: str
    title: str
    status: str
    gap: float
    among: str
    lines: tuple[Line, ...]
    total: Money
    per_head: Money
    left: Money | None
    over_by: Money | None
    boneless_oz: Fraction
    eating: Fraction
    feeds: Mapping[str, int]
    chance_enough: float
    chance_each: tuple[tuple[tuple[str, ...], float], ...]
    chance_everyone: float
    loads: tuple[Load, ...]
    binds: tuple[str, ...]
    say: str
    gave_up: str
    differs: float
    help: Money
    collect_by: datetime | None = None


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """The best eating for a sum of money."""

    total: Money
    eating: Fraction


@dataclass(frozen=True, slots=True)
class Yes:
    """A change that turns no into yes; `patch` is a JSON merge patch on the problem."""

    change: str
    to: Any
    why: str
    patch: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class SpreadPlan:
    """The whole answer."""

    answer: str
    currency: str
    heads: int
    need_meals: Fraction
    planned_meals: Fraction
    need_oz: Fraction
    assumptions: tuple[str, ...]
    spreads: tuple[Spread, ...] = ()
    curve: tuple[CurvePoint, ...] = ()
    more_money: Mapping[str, Any] | None = None
    blocked_by: tuple[str, ...] = ()
    why_no: str | None = None
    nearest_yes: tuple[Yes, ...] | None = None
    unusable: tuple[tuple[str, str], ...] = ()


def _num(value: Fraction, places: int) -> float:
    return float(decimal_of(value, places))


def _pounds(mlb: int) -> str:
    places = 2 if mlb % 10 == 0 else 3
    return str(decimal_of(Fraction(mlb, 1000), places))


def plan_json(plan: SpreadPlan) -> dict[str, Any]:
    """Return the plan as the ``collop.spread.plan/1`` JSON object."""
    yes = plan.nearest_yes
    return {
        "schema": "collop.spread.plan/1",
        "answer": plan.answer,
        "currency": plan.currency,
        "heads": plan.heads,
        "need": {
            "meals": _num(plan.need_meals, 3),
            "planned_meals": _num(plan.planned_meals, 3),
            "boneless_oz": _num(plan.need_oz, 1),
        },
        "assumptions": list(plan.assumptions),
        "spreads": [_spread(spread) for spread in plan.spreads],
        "curve": [
            {"total": str(point.total), "eating": _num(point.eating, 3)} for point in plan.curve
        ],
        "more_money": None if plan.more_money is None else dict(plan.more_money),
        "blocked_by": list(plan.blocked_by),
        "why_no": plan.why_no,
        "nearest_yes": None
        if yes is None
        else [{"change": y.change, "to": y.to, "why": y.why, "patch": dict(y.patch)} for y in yes],
        "unusable": [{"id": offer_id, "why": why} for offer_id, why in plan.unusable],
    }


def _spread(spread: Spread) -> dict[str, Any]:
    return {
        "aim": spread.aim,
        "title": spread.title,
        "proof": {"status": spread.status, "gap": spread.gap, "among": spread.among},
        "lines": [_line(line) for line in spread.lines],
        "total": str(spread.total),
        "per_head": str(spread.per_head),
        "left": None if spread.left is None else str(spread.left),
        "over_by": None if spread.over_by is None else str(spread.over_by),
        "boneless_oz": _num(spread.boneless_oz, 2),
        "eating": _num(spread.eating, 3),
        "feeds": dict(spread.feeds),
        "chance_enough": round(spread.chance_enough, 4),
        "chance_each": [
            {"groups": list(groups), "chance": round(chance, 4)}
            for groups, chance in spread.chance_each
        ],
        "chance_everyone": round(spread.chance_everyone, 4),
        "loads": [
            {"at_min": load.at_min, "minutes": load.minutes, "zone": load.zone,
             "area_sq_in": _num(load.area_sq_in, 1), "id": load.offer_id, "heat": load.heat,
             "wave": load.wave, "ready_min": load.ready_min, "eat_min": load.eat_min,
             "own_tray": load.own_tray}
            for load in spread.loads
        ],
        "binds": list(spread.binds),
        "say": spread.say,
        "gave_up": spread.gave_up,
        "differs": round(spread.differs, 3),
        "help": str(spread.help),
        "collect_by": spread.collect_by and f"{spread.collect_by:%Y-%m-%dT%H:%M}",
    }  # fmt: skip


def _line(line: Line) -> dict[str, Any]:
    offer = line.option.offer
    pieces = line.pieces_mlb
    return {
        "id": offer.id,
        "name": offer.name,
        "weight_lb": _pounds(line.mlb),
        "pieces": None if pieces is None else [_pounds(mlb) for mlb in pieces],
        "style": line.option.style,
        "slot": line.slot,
        "price_per_lb": f"{offer.price.amount:f}",
        "line_total": str(line.total),
        "serving_cost": str(line.serving_cost),
        "portion_oz": _num(line.portion_oz, 2),
        "share": _num(line.share, 4),
        "meals": _num(line.meals, 3),
        "slow": line.slow,
        "pinned": line.pinned,
        "meat_free": offer.is_meat_free,
        "not_for": list(line.not_for),
        "contains": list(offer.allergens),
        "casing": offer.casing,
        "cook_to": None if line.cook_to is None else dict(line.cook_to),
        "reason": line.reason,
        "cousins": [
            {"id": c.offer_id, "name": c.name, "price_per_lb": str(c.price_per_lb),
             "style": c.style, "serving_cost": str(c.serving_cost),
             "less_per_lb": str(c.less_per_lb), "less_per_serving": str(c.less_per_serving),
             "percent": c.percent}
            for c in line.cousins
        ],
    }  # fmt: skip
