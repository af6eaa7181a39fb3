"""Clean-downs as the Day Book sees them: what is due, and the days without one.

The published rows count hours of use by how warm the room is. A day open to customers on which no
clean-down of the cutting room is on record is told as a gap: common practice, no published source.
"""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.shop.bench_list_model import CleanDue
from collop.shop.bench_tables import clean_downs
from collop.shop.clean_downs import ROOM, standing_clean_downs
from collop.shop.day_model import DayGap, DayTile, both_scales, moment_in
from collop.shop.model import Settings

__all__ = ["clean_gaps", "clean_tile"]

_SOON = timedelta(hours=1)


def clean_gaps(
    conn: Connection, chosen: Settings, span: tuple[date, date], now: datetime
) -> list[DayGap]:
    """Return the open days of `span` that ended without a clean-down of the room."""
    first, last = span
    begun = conn.scalar(select(func.min(clean_downs.c.at)))
    if begun is None:
        return []  # no clean-down was ever kept here: the tile says so
    since = datetime.combine(first, time())
    until = datetime.combine(last, time()) + timedelta(days=1)
    standing = standing_clean_downs(conn, since, until)
    done = {one.done_at.date() for one in standing if one.what == ROOM}
    found = []
    for step in range((last - first).days + 1):
        day = first + timedelta(days=step)
        is_over = day < now.date() and day >= begun.date()
        if is_over and chosen.is_open(day) and day not in done:
            due = datetime.combine(day, chosen.closes)
            found.append(DayGap("clean", "Cutting room", due, "no clean-down on record"))
    return found


def clean_tile(due: CleanDue, now: datetime) -> DayTile:
    """Return what the tile of the clean-down says."""
    name = "Clean-down"
    if due.last is None or due.due is None:
        return DayTile("clean", name, "none", None, "no clean-down of the room on record yet")
    words = (f"the last {moment_in(due.last, now)}; the room at {both_scales(due.room)}: "
             f"every {due.hours} h at most")  # fmt: skip
    state = "late" if due.is_late else "due" if due.due - now <= _SOON else "ahead"
    return DayTile("clean", name, state, due.due, words)
