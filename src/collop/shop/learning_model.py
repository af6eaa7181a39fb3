"""What the shop learns, as it is handed out: how orders ate, cutting tests, paces of sale."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from collop.measures import Weight

__all__ = ["CuttingTest", "Fed", "Feedback", "LearnedCut", "LearnedPace", "NewFeedback"]


@dataclass(frozen=True, slots=True)
class Fed:
    """Who ate of an order; together one or more."""

    usual: int
    child: int = 0
    big: int = 0

    @property
    def heads(self) -> int:
        """Return how many they are."""
        return self.usual + self.child + self.big


@dataclass(frozen=True, slots=True)
class NewFeedback:
    """How an order ate, as the customer told it.

    `left_over` is the share of the food that was left, from 0 to 0.95; below zero what was
    missing, as a share of what was there; None if it ran out and nobody said by how much.
    """

    fed: Fed
    left_over: Decimal | None
    words: str = ""


@dataclass(frozen=True, slots=True)
class Feedback:
    """Feedback that was written down; the newest of an order counts."""

    booking_id: str
    name: str
    fed: Fed
    left_over: Decimal | None
    needed_meals: Decimal
    supplied_meals: Decimal
    words: str
    at: datetime
    by: str | None


@dataclass(frozen=True, slots=True)
class CuttingTest:
    """Bone-in weight before the knife and boneless weight after it."""

    number: int
    case_id: str
    name: str
    before: Weight
    after: Weight
    lot_id: str | None
    words: str
    at: datetime
    by: str | None
    is_taken_back: bool


@dataclass(frozen=True, slots=True)
class LearnedCut:
    """Boneless share of a line: written down, and with the shop's own tests in it."""

    case_id: str
    name: str
    written: Decimal
    learned: Decimal
    sd: float | None
    tests: int
    plan: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class LearnedPace:
    """What a line sells on an open day: the plan of ``collop.pace/1``."""

    case_id: str
    name: str
    plan: Mapping[str, Any]
