"""Standing orders: frozen records, no database behind them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from collop.measures import Weight

__all__ = ["Due", "MadeDue", "NewStanding", "Standing", "StandingEvent", "StandingLine", "due_days"]


@dataclass(frozen=True, slots=True)
class StandingLine:
    """A line of a standing order.

    `cap` is the most of it that was agreed, None without. `stand_in` names a second line that fills
    what is short, agreed beforehand.
    """

    case_id: str
    weight: Weight
    cap: Weight | None = None
    style: str | None = None
    stand_in: str | None = None

    @property
    def agreed(self) -> Weight:
        """Return what is asked each time, capped at the most that was agreed."""
        return self.weight if self.cap is None else min(self.weight, self.cap)


@dataclass(frozen=True, slots=True)
class NewStanding:
    """A standing order somebody places.

    `days` counts Monday as 0. With `every_weeks` above 1 the week of `first_day` is the first, and
    weeks begin on Monday.
    """

    name: str
    days: tuple[int, ...]
    hour: time
    first_day: date
    lines: tuple[StandingLine, ...]
    by: str
    every_weeks: int = 1
    phone_end: str = ""
    heads: int | None = None
    last_day: date | None = None
    note: str = ""
    on_account: bool = False


@dataclass(frozen=True, slots=True)
class StandingEvent:
    """Something that happened to a standing order; `what` is begun, made, skipped and so on."""

    what: str
    on_day: date | None
    booking_id: str | None
    facts: Mapping[str, Any]
    why: str
    at: datetime
    by: str | None


@dataclass(frozen=True, slots=True)
class Standing:
    """A standing order as it stands: `terms` are the newest, `state` is on, paused or ended."""

    id: str
    terms: NewStanding
    state: str
    events: tuple[StandingEvent, ...]

    @property
    def settled(self) -> frozenset[date]:
        """Return the days for which a booking was made, or that were skipped."""
        return frozenset(
            one.on_day for one in self.events
            if one.what in {"made", "skipped"} and one.on_day is not None
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Due:
    """A booking that is to be made: for `day`, collected then or, if it is shut, another day."""

    order_id: str
    name: str
    day: date
    collect_at: datetime
    moved: str


@dataclass(frozen=True, slots=True)
class MadeDue:
    """A booking that a standing order made; `said` tells what was capped, moved or stood in."""

    order_id: str
    day: date
    booking_id: str
    said: tuple[str, ...]


def due_days(terms: NewStanding, first: date, last: date) -> tuple[date, ...]:
    """Return the days of a standing order from `first` to `last`, both included.

    Examples
    --------
    >>> terms = NewStanding("x", (1, 4), time(11), date(2026, 6, 16), (), "ines", every_weeks=2)
    >>> [str(day) for day in due_days(terms, date(2026, 6, 9), date(2026, 7, 3))]
    ['2026-06-16', '2026-06-19', '2026-06-30', '2026-07-03']
    """
    monday = terms.first_day - timedelta(days=terms.first_day.weekday())
    start = max(first, terms.first_day)
    end = last if terms.last_day is None else min(last, terms.last_day)
    days = (start + timedelta(days=ahead) for ahead in range((end - start).days + 1))
    return tuple(
        day for day in days
        if day.weekday() in terms.days and (day - monday).days // 7 % terms.every_weeks == 0
    )  # fmt: skip
