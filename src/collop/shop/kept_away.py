"""When an act was done that waited on a device until the server was back.

Only spans of the device's own clock are used, never its time of day: how long it waited is taken
off the shop's clock, so a device whose clock stands wrong still tells the right time. A clock that
was moved meanwhile is noted beside the act; nothing is refused for it.
"""

from __future__ import annotations

import re
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import insert

from collop.shop.week_tables import late_acts

if TYPE_CHECKING:
    from collop.shop.acts import Act

__all__ = ["KEPT_AWAY", "OLDEST", "KeptAway", "done_before", "note_kept", "priced_when"]

#: Waited longer than this, or less than nothing, and the clock of the device is doubted: ours.
OLDEST = timedelta(days=7)
_FURTHEST = timedelta(days=3660)
_DEVICE = re.compile(r"[0-9a-z]{1,8}")


@dataclass(frozen=True, slots=True)
class KeptAway:
    """How long an act waited, and where.

    Parameters
    ----------
    waited : timedelta
        From when it was done to now, by the device's clock.
    device : str
        Short name the device gave itself, up to 8 letters and figures; others are left out.
    as_of : datetime or None
        Shop time at which the page it was written on was made.
    """

    waited: timedelta
    device: str = ""
    as_of: datetime | None = None

    @property
    def is_doubted(self) -> bool:
        """Tell whether the clock of the device cannot be right."""
        return not timedelta(0) <= self.waited <= OLDEST

    @property
    def sheet(self) -> str:
        """Return what stands beside the act, at most 40 characters."""
        name = self.device if _DEVICE.fullmatch(self.device) else ""
        told = f"device {name}".rstrip()
        return f"{told}, its clock in doubt" if self.is_doubted else told

    def done_at(self, now: datetime) -> datetime:
        """Return when it was done by the shop's clock; now, where it would lie ahead or too far."""
        if not timedelta(0) <= self.waited <= _FURTHEST:
            return now
        return (now - self.waited).replace(microsecond=0)


#: Set for the request of an act that waited on a device; read by whatever writes it.
KEPT_AWAY: ContextVar[KeptAway | None] = ContextVar("KEPT_AWAY", default=None)


def done_before(now: datetime) -> datetime | None:
    """Return when the act of this request was done, if it waited and its clock is not doubted."""
    kept = KEPT_AWAY.get()
    return None if kept is None or kept.is_doubted else kept.done_at(now)


def priced_when(now: datetime) -> datetime | None:
    """Return the time of whose board a sale that waited was told; None for now."""
    kept = KEPT_AWAY.get()
    if kept is None or kept.as_of is None or not timedelta(0) <= now - kept.as_of <= OLDEST:
        return None
    return kept.as_of


def note_kept(act: Act) -> None:
    """Write beside an act when it was done, if it waited on a device."""
    kept = KEPT_AWAY.get()
    if kept is not None:
        act.conn.execute(insert(late_acts).values(
            done_at=kept.done_at(act.at), sheet=kept.sheet, at=act.at, by_id=act.by, key=act.key,
        ))  # fmt: skip
