"""What bookings want cut or made beyond what is reserved for them."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import func, insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import Weight, WeightUnit
from collop.shop.acts import Act, Room, once
from collop.shop.bench_model import Want
from collop.shop.bench_tables import booking_wants
from collop.shop.hook import booking_id, load_booking
from collop.shop.model import Settings, State
from collop.shop.quotes import number_in
from collop.shop.store import AnyRow
from collop.shop.tables import (
    booking_events,
    booking_lines,
    bookings,
    case_lines,
    ledger_entries,
)

__all__ = ["load_wants", "note_want", "want"]

_LONGEST = 200
_MOST = Weight.of(100_000, WeightUnit.LB)
_entry = ledger_entries.c


def note_want(act: Act, number: int, case_id: str, weight: Weight, note: str = "") -> None:
    """Write what a booking wants of a line; the newest such row counts, 0 takes it back.

    Raises
    ------
    BadValue
        If the weight is below zero or far too much, or the note is too long.
    NotFound
        If there is no such booking or line.
    WrongState
        If the booking has gone or is off.
    """
    if not Weight.zero() <= weight < _MOST:
        raise BadValue("Say how much is wanted: from 0 to under 100,000 lb.", where="weight")
    if len(note) > _LONGEST:
        raise BadValue(f"The note is longer than {_LONGEST} characters; shorten it.", where="note")
    booking = load_booking(act.conn, number, act.settings)
    if not booking.state.holds:
        raise WrongState(f"{booking.id} is {booking.state}; nothing more is cut for it.")
    line = select(case_lines.c.id).where(case_lines.c.id == case_id)
    if act.conn.execute(line).first() is None:
        raise NotFound(f"There is no case line {case_id[:40]!r}; look at the case again.",
                       where="case_id")  # fmt: skip
    act.conn.execute(
        insert(booking_wants).values(
            booking_number=number, case_id=case_id, weight=weight.count, unit=weight.unit.value,
            note=note, at=_not_before(act, number), by_id=act.by, key=act.key,
        )
    )  # fmt: skip


def _not_before(act: Act, number: int) -> datetime:
    """Return the moment of a want: now, or that of the last move for the booking if it is later.

    A clock that was put back must not make what was reserved before look reserved since.
    """
    newest = act.conn.scalar(
        select(func.max(_entry.at))
        .join(booking_lines, booking_lines.c.id == _entry.booking_line_id)
        .where(booking_lines.c.booking_number == number)
    )
    return act.at if newest is None else max(act.at, newest)


def want(
    room: Room, booking: str, case_id: str, weight: Weight, *, by: str, note: str, key: str
) -> None:
    """Write a want once; see `note_want` for what it may be."""
    number = number_in("H", booking, "booking")

    def work(act: Act) -> str:
        note_want(act, number, case_id, weight, note.strip())
        return booking_id(number)

    once(room, "want", [number, case_id, weight, note], by=by, key=key, work=work)


def _newest(conn: Connection) -> list[AnyRow]:
    last = (
        select(func.max(booking_wants.c.seq))
        .group_by(booking_wants.c.booking_number, booking_wants.c.case_id)
        .scalar_subquery()
    )
    query = (
        select(
            booking_wants, bookings.c.name, bookings.c.collect_at, case_lines.c.name.label("what")
        )
        .join(bookings, bookings.c.number == booking_wants.c.booking_number)
        .join(case_lines, case_lines.c.id == booking_wants.c.case_id)
        .where(booking_wants.c.seq.in_(last), booking_wants.c.weight > 0)
        .order_by(bookings.c.collect_at, booking_wants.c.seq)
    )
    return list(conn.execute(query))


def _reserved_since(conn: Connection, row: AnyRow) -> int:
    """Return what of the line was reserved for the booking after it was wanted, in counts.

    Lines reserved before, and what is put back of them, leave the want as it is.
    """
    since = (
        select(_entry.booking_line_id)
        .where(_entry.place == "booked", _entry.booking_line_id.is_not(None))
        .group_by(_entry.booking_line_id)
        .having(func.min(_entry.at) > row.at)
    )
    total = conn.scalar(
        select(func.sum(_entry.delta))
        .join(booking_lines, booking_lines.c.id == _entry.booking_line_id)
        .where(
            booking_lines.c.booking_number == row.booking_number,
            booking_lines.c.case_id == row.case_id,
            _entry.place == "booked",
            booking_lines.c.id.in_(since),
        )
    )
    return max(0, int(total or 0))


def _holding(conn: Connection, numbers: set[int]) -> frozenset[int]:
    """Return those of the bookings whose last event leaves them on the hook."""
    event = booking_events.c
    last = (
        select(func.max(event.seq))
        .where(event.booking_number.in_(numbers))
        .group_by(event.booking_number)
        .scalar_subquery()
    )
    rows = conn.execute(select(event.booking_number, event.state).where(event.seq.in_(last)))
    return frozenset(row.booking_number for row in rows if State(row.state).holds)


def load_wants(conn: Connection, _chosen: Settings) -> tuple[Want, ...]:
    """Return what bookings that still hold want, soonest collected first.

    No setting of the shop changes what was wanted.
    """
    found = []
    rows = _newest(conn)
    holding = _holding(conn, {row.booking_number for row in rows})
    for row in rows:
        number = row.booking_number
        if number not in holding:
            continue
        unit = WeightUnit(row.unit)
        left = max(0, row.weight - _reserved_since(conn, row))
        found.append(
            Want(
                booking_id(number), row.name, row.case_id, row.what, Weight(row.weight, unit),
                Weight(left, unit), row.note, row.collect_at, row.at, row.by_id,
            )
        )  # fmt: skip
    return tuple(found)
