"""What time it is in the shop: shop-local, without a zone."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta
from typing import Protocol

__all__ = ["DEMO_MONDAY", "DEMO_START", "Clock", "DemoClock", "StillClock", "WallClock"]

DEMO_START = datetime(2026, 6, 9, 8, 0)  # noqa: DTZ001 -- shop-local, as every time in the shop
DEMO_MONDAY = datetime(2026, 6, 8, 6, 0)  # noqa: DTZ001 -- the breaking day of the demo week
_opened_at: list[float] = []


class Clock(Protocol):
    """Anything that tells the shop's time."""

    def now(self) -> datetime:
        """Return the shop-local time, without a zone."""
        ...


class WallClock:
    """The machine's own clock and zone."""

    def now(self) -> datetime:
        """Return the local time to the second."""
        return datetime.now(tz=UTC).astimezone().replace(tzinfo=None, microsecond=0)


class DemoClock:
    """The demo week: stands at its start when this process first asks, running on from there.

    Parameters
    ----------
    start : datetime
        Tuesday 08:00, or Monday 06:00 for the breaking day.
    """

    def __init__(self, start: datetime = DEMO_START) -> None:
        self._start = start

    def now(self) -> datetime:
        """Return the demo time to the second."""
        if not _opened_at:
            _opened_at.append(time.monotonic())
        gone = timedelta(seconds=int(time.monotonic() - _opened_at[0]))
        return self._start + gone


class StillClock:
    """A clock that stands where it is put.

    Parameters
    ----------
    moment : datetime
        Where it stands at first.
    """

    def __init__(self, moment: datetime = DEMO_START) -> None:
        self._moment = moment

    def now(self) -> datetime:
        """Return the time it was put to."""
        return self._moment

    def put(self, moment: datetime) -> None:
        """Put it to another time, forwards or back."""
        self._moment = moment
