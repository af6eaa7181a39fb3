"""What the bench hands out: kept plans and what bookings want cut."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from collop.errors import WrongState
from collop.measures import Weight

__all__ = ["KeptPlan", "PlanInWork", "PlanNote", "Want"]


class PlanInWork(WrongState):
    """Another plan is being worked out; nothing is wrong with what was asked."""


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """A cutting plan that was kept.

    Parameters
    ----------
    number : int
        Counts from 1.
    at : datetime
        When it was made, shop-local.
    plan, problem : mapping
        ``collop.bench.plan/1`` and the ``collop.bench/1`` it answers.
    changes : tuple of str
        What differs from the plan before it, one sentence each; empty for the first.
    is_current : bool
        Whether nothing was weighed, booked, priced or chosen since, and the day is the same.
    """

    number: int
    at: datetime
    plan: Mapping[str, Any]
    problem: Mapping[str, Any]
    changes: tuple[str, ...]
    is_current: bool


@dataclass(frozen=True, slots=True)
class PlanNote:
    """A kept plan without the plan itself; see `KeptPlan` for its parts."""

    number: int
    at: datetime
    changes: tuple[str, ...]
    is_current: bool


@dataclass(frozen=True, slots=True)
class Want:
    """What a booking asks for beyond what is reserved, to be cut or made.

    `weight` was asked; `left` is that less what was reserved of the line since, never below zero.
    """

    booking_id: str
    name: str
    case_id: str
    case_name: str
    weight: Weight
    left: Weight
    note: str
    collect_at: datetime
    at: datetime
    by: str | None
