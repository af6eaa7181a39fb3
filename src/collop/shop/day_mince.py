"""Mince lots as the Day Book sees them: which is open, and what a record lacks.

What a record must hold, and the source of each field, stands in
`collop.shop.making_record_fields`. A lot that is still open on its own day lacks nothing yet.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from sqlalchemy.engine import Connection

from collop.shop.day_model import DayGap, DayTile, moment_in
from collop.shop.making_model import MINCE, Making, MakingState
from collop.shop.making_record import load_makings
from collop.shop.model import Settings

__all__ = ["load_mince", "mince_gaps", "mince_tile"]

# a closed record is whole; that of the last few may be open again, its clean-down taken back
_NEWEST = 8
_NAME = "Mince lot"


def load_mince(conn: Connection, now: datetime, chosen: Settings) -> tuple[Making, ...]:
    """Return the newest mince lots, and all whose record is not closed."""
    return load_makings(conn, now, chosen, MINCE, _NEWEST)


def _lacks(one: Making, today: date) -> list[str]:
    """Return what a record lacks by now, in words."""
    if one.state is MakingState.OPEN:
        if one.done_at.date() >= today:
            return []
        return ["a clean-down to end it"]
    found = list(one.missing)
    if one.mass.left.count:
        found.append(f"where {one.mass.left.text()} of it is")
    return found


def mince_gaps(makings: Sequence[Making], span: tuple[date, date], now: datetime) -> list[DayGap]:
    """Return the lots begun in `span` whose record lacks something, and what, oldest first."""
    found = []
    for one in makings:
        lacks = _lacks(one, now.date())
        if lacks and span[0] <= one.done_at.date() <= span[1]:
            words = f"its record lacks {'; '.join(lacks)}"
            found.append(DayGap("mince", one.code, one.done_at, words))
    return sorted(found, key=lambda gap: (gap.due, gap.name))


def mince_tile(makings: Sequence[Making], now: datetime) -> DayTile:
    """Return what the tile of the mince says: records that lack something, then what is open."""
    lacking = [one for one in makings if _lacks(one, now.date())]
    opened = [one for one in makings if one.state is MakingState.OPEN]
    words = []
    if lacking:
        codes = ", ".join(sorted(one.code for one in lacking)[:3])
        more = f" and {len(lacking) - 3} more" if len(lacking) > 3 else ""
        words.append(f"record incomplete: {codes}{more}")
    words += [f"open: {one.code} since {moment_in(one.done_at, now)}"
              for one in opened if one not in lacking]  # fmt: skip
    if not words:
        newest = max(makings, key=lambda one: one.number, default=None)
        last = f"; the last {newest.code}, {moment_in(newest.done_at, now)}" if newest else ""
        words = [f"from clean-down to clean-down{last or '; none begun yet'}"]
    is_old = any(one.done_at.date() < now.date() for one in lacking)
    state = "late" if is_old else "due" if lacking else "none"
    return DayTile("mince", _NAME, state, None, "; ".join(words))
