"""Standing orders as they are kept: checked, written, and read back with what happened."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from datetime import date, time, timedelta
from typing import Any

from sqlalchemy import insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound
from collop.measures import Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.hook import booking_id
from collop.shop.model import Settings
from collop.shop.quotes import number_in
from collop.shop.standing_model import NewStanding, Standing, StandingEvent, StandingLine
from collop.shop.store import AnyRow
from collop.shop.tables import case_lines
from collop.shop.week_tables import standing_events, standing_orders

__all__ = ["checked_terms", "load_standing", "note_standing", "order_id", "write_terms"]

_MOST_LINES = 50
_MOST_WEIGHT = Weight.of(100_000, WeightUnit.LB)
_MOST_HEADS = 100_000
_FAR = timedelta(days=366)
_STATES = {"begun": "on", "resumed": "on", "paused": "paused", "ended": "ended"}


def order_id(number: int) -> str:
    """Return the id people say, e.g. ``S1``; it stays when the order is changed."""
    return f"S{number}"


def _checked_times(new: NewStanding, chosen: Settings) -> None:
    if not new.days or not set(new.days) <= set(range(7)):
        raise BadValue("Choose at least one weekday for the standing order.", where="days")
    if not 1 <= new.every_weeks <= 52:
        raise BadValue("It comes every week, or every so many weeks: from 1 to 52.",
                       where="every_weeks")  # fmt: skip
    if not chosen.opens <= new.hour <= chosen.closes:
        raise BadValue(f"The shop is open {chosen.opens:%H:%M} to {chosen.closes:%H:%M}; choose an"
                       " hour between.", where="hour")  # fmt: skip
    if new.last_day is not None and new.last_day < new.first_day:
        raise BadValue("The last day comes before the first; turn them round.", where="last_day")


def _checked_lines(conn: Connection, lines: Sequence[StandingLine]) -> None:
    if not 1 <= len(lines) <= _MOST_LINES:
        raise BadValue(f"A standing order has from 1 to {_MOST_LINES} lines.", where="lines")
    known = set(conn.scalars(select(case_lines.c.id)))
    seen: set[str] = set()
    for at, line in enumerate(lines):
        where = f"lines[{at}]"
        for case_id in (line.case_id, line.stand_in):
            if case_id is not None and case_id not in known:
                raise NotFound(f"There is no case line {case_id[:40]!r}; look at the case again.",
                               where=where)  # fmt: skip
        if line.case_id in seen:
            raise BadValue(f"{line.case_id} stands there twice; write one line.", where=where)
        if line.stand_in == line.case_id:
            raise BadValue(f"{line.case_id} cannot stand in for itself; choose another line.",
                           where=where)  # fmt: skip
        if not all(Weight.zero() < one < _MOST_WEIGHT for one in (line.weight, line.cap) if one):
            raise BadValue(f"{where}: a weight must be more than 0 and under 100,000 lb.",
                           where=where)  # fmt: skip
        if not line.weight:
            raise BadValue(f"{where}: say how much is wanted each time.", where=where)
        if line.cap is not None and not line.cap:
            raise BadValue(f"{where}: a cap is more than 0; leave it out for none.", where=where)
        seen.add(line.case_id)


def checked_terms(act: Act, new: NewStanding, *, first_from: date) -> None:
    """Check the terms of a standing order.

    Raises
    ------
    BadValue
        If a field is out of range, or the first day is before `first_from` or over a year ahead.
    NotFound
        If a line names no case line.
    """
    if not 1 <= len(new.name.strip()) <= 120:
        raise BadValue("A standing order needs a name of 1 to 120 characters.", where="name")
    if len(new.note) > 1000:
        raise BadValue("The note is longer than 1000 characters; shorten it.", where="note")
    if new.heads is not None and not 1 <= new.heads <= _MOST_HEADS:
        raise BadValue(f"heads is {new.heads}; it must be from 1 to {_MOST_HEADS}.", where="heads")
    if not first_from <= new.first_day <= act.at.date() + _FAR:
        raise BadValue(f"The first day is from {first_from} to a year ahead; choose another.",
                       where="first_day")  # fmt: skip
    _checked_times(new, act.settings)
    _checked_lines(act.conn, new.lines)


def _kept_line(line: StandingLine) -> dict[str, Any]:
    return {
        "case_id": line.case_id, "count": line.weight.count, "unit": line.weight.unit.value,
        "cap": None if line.cap is None else line.cap.count, "style": line.style,
        "stand_in": line.stand_in,
    }  # fmt: skip


def _line_of(kept: dict[str, Any]) -> StandingLine:
    unit = WeightUnit(kept["unit"])
    cap = None if kept["cap"] is None else Weight(kept["cap"], unit)
    return StandingLine(kept["case_id"], Weight(kept["count"], unit), cap, kept["style"],
                        kept["stand_in"])  # fmt: skip


def write_terms(act: Act, new: NewStanding, replaces: int | None = None) -> int:
    """Write the terms of a standing order, checked before, and return the number of the row."""
    found = act.conn.execute(
        insert(standing_orders).values(
            name=new.name.strip(), phone_end=re.sub(r"[^0-9]", "", new.phone_end)[-4:],
            heads=new.heads, days=sorted(set(new.days)), every_weeks=new.every_weeks,
            hour=f"{new.hour:%H:%M}", first_day=new.first_day, last_day=new.last_day,
            lines=[_kept_line(line) for line in new.lines], note=new.note.strip(),
            on_account=new.on_account, replaces=replaces, at=act.at, by_id=act.by, key=act.key,
        )
    ).inserted_primary_key  # fmt: skip
    assert found is not None
    return int(found[0])


def note_standing(
    act: Act, number: int, what: str, *, on_day: date | None = None, booking: int | None = None,
    facts: dict[str, Any] | None = None, why: str = "",
) -> None:  # fmt: skip
    """Write what happened to a standing order; `number` is that of any of its rows."""
    act.conn.execute(
        insert(standing_events).values(
            order_number=number, what=what, on_day=on_day, booking_number=booking,
            facts=facts or {}, why=why[:200], at=act.at, by_id=act.by, key=act.key,
        )
    )  # fmt: skip


def _terms_of(row: AnyRow) -> NewStanding:
    return NewStanding(
        name=row.name, days=tuple(row.days), hour=time.fromisoformat(row.hour),
        first_day=row.first_day, lines=tuple(_line_of(line) for line in row.lines),
        by=row.by_id or "", every_weeks=row.every_weeks, phone_end=row.phone_end,
        heads=row.heads, last_day=row.last_day, note=row.note, on_account=row.on_account,
    )  # fmt: skip


def _event_of(row: AnyRow) -> StandingEvent:
    booking = None if row.booking_number is None else booking_id(row.booking_number)
    return StandingEvent(row.what, row.on_day, booking, row.facts, row.why, row.at, row.by_id)


def _state(events: Sequence[StandingEvent]) -> str:
    """Return the state after all events; new terms leave it as it was."""
    state = "on"
    for one in events:
        if not one.facts.get("changed"):
            state = _STATES.get(one.what, state)
    return state


def newest_row(standing: Standing) -> int:
    """Return the number of the row that holds the newest terms."""
    numbers = [int(one.facts["row"]) for one in standing.events if one.facts.get("row")]
    return numbers[-1] if numbers else root_of(standing.id)


def root_of(name: str) -> int:
    """Return the number of an id such as ``S1``, or raise `NotFound`."""
    return number_in("S", name, "standing order")


def load_standing(conn: Connection, name: str | None = None) -> tuple[Standing, ...]:
    """Return all standing orders, oldest first, or the one of an id.

    Raises
    ------
    NotFound
        If there is none of that id.
    """
    rows = conn.execute(select(standing_orders).order_by(standing_orders.c.number)).all()
    root: dict[int, int] = {}
    terms: dict[int, NewStanding] = {}
    for row in rows:
        root[row.number] = row.number if row.replaces is None else root[row.replaces]
        terms[root[row.number]] = _terms_of(row)
    events: dict[int, list[StandingEvent]] = defaultdict(list)
    for row in conn.execute(select(standing_events).order_by(standing_events.c.seq)):
        events[root[row.order_number]].append(_event_of(row))
    found = tuple(
        Standing(order_id(number), own, _state(events[number]), tuple(events[number]))
        for number, own in terms.items()
    )
    if name is None:
        return found
    wanted = order_id(root_of(name))
    one = next((one for one in found if one.id == wanted), None)
    if one is None:
        raise NotFound(f"There is no standing order {name[:40]!r}; look at the list.",
                       where="standing order")  # fmt: skip
    return (one,)
