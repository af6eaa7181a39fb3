"""What the tiles of the Day Book say: what is due, and since when."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import datetime, timedelta

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.shop.day_checks_lines import last_done
from collop.shop.day_cold import ColdBook
from collop.shop.day_cooling import warm_tile
from collop.shop.day_model import DayTile, Round, RoundState, moment_in
from collop.shop.day_places import PlaceBook
from collop.shop.day_tables import day_checks
from collop.shop.knife_tables import deliveries

__all__ = ["CHECK_EVERY", "cold_tile", "receive_tile", "tool_tile"]

#: How often a scale and a thermometer are checked: common practice, no published source.
CHECK_EVERY = timedelta(days=7)
_OPEN = {RoundState.DUE, RoundState.OVERDUE}


def cold_tile(cold: ColdBook, rounds: Sequence[Round], places: PlaceBook) -> DayTile:
    """Return what the tile of the cold checks says: first what was over, then the round."""
    name = "Cold check"
    if not places.read_now():
        return DayTile("cold", name, "none", None, "name your fridges first")
    again = cold.again()
    if again:
        place, until, line = again[0]
        words = f"read {place.name} again: over at {moment_in(line.done_at, cold.now)}, {line.said}"
        return DayTile("cold", name, "late" if until < cold.now else "due", until, words)
    todo = [one for one in rounds if one.state in _OPEN]
    if todo:
        due = todo[0].due
        names = list(dict.fromkeys(one.place.name for one in todo if one.due == due))
        is_late = any(one.state is RoundState.OVERDUE for one in todo)
        return DayTile(
            "cold", name, "late" if is_late else "due", due, f"to read: {', '.join(names)}"
        )
    ahead = next((one for one in rounds if one.state is RoundState.AHEAD), None)
    if ahead is not None:
        return DayTile("cold", name, "ahead", ahead.due, "all read so far")
    counts = Counter(one.state for one in rounds)
    if not rounds:
        return DayTile("cold", name, "none", None, "no round today")
    gaps = counts[RoundState.GAP]
    return DayTile("cold", name, "none", None, f"{gaps} gaps today" if gaps else "all read today")


def receive_tile(conn: Connection, now: datetime) -> DayTile:
    """Return what the tile of the door says: what still has to be cooled, else the last."""
    warm = warm_tile(conn, now)
    if warm is not None:
        return warm
    last = conn.scalar(select(func.max(deliveries.c.at)))
    box = conn.scalar(select(func.max(day_checks.c.done_at)).where(day_checks.c.kind == "receive"))
    both = [one for one in (last, box) if one is not None]
    words = f"the last {moment_in(max(both), now)}" if both else "nothing came yet"
    return DayTile("receive", "Receive", "none", None, f"when something comes; {words}")


def tool_tile(conn: Connection, kind: str, name: str, now: datetime) -> DayTile:
    """Return what the tile of scale or thermometer checks says."""
    last = last_done(conn, kind)
    if last is None:
        return DayTile(kind, name, "none", None, "none on record yet")
    due = last + CHECK_EVERY
    state = "late" if due.date() < now.date() else "due" if due.date() == now.date() else "ahead"
    return DayTile(kind, name, state, due, f"the last {moment_in(last, now)}")
