"""Marks on the bench list: what was seen, done, undone and crossed off, each a row for ever."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from fractions import Fraction
from typing import Any

from sqlalchemy import insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.bench_list_model import UNDO_WITHIN, BenchLine, BenchList, Done
from collop.shop.bench_tables import bench_marks
from collop.shop.booking import note_event
from collop.shop.hook import load_booking
from collop.shop.model import State
from collop.shop.quotes import number_in
from collop.shop.store import AnyRow
from collop.shop.tables import booking_events

__all__ = ["Mark", "cross_off", "done", "load_marks", "seen", "undo"]

# marks on lines of bookings that are long over are not read any more
_READ_DAYS = 60
# further off than this is asked about once: another piece, or a tare (a figure of ours)
_LIKELY_GAP = Fraction(1, 5)
_LONGEST_ID = 200
_WRITTEN = "written"
_STALE = "The list changed while it was looked at; look at it again."


@dataclass(slots=True)
class Mark:
    """What all marks on one line come to.

    Parameters
    ----------
    number : int, optional
        The number it was given on the day asked for.
    shown : mapping, optional
        The line as it was last seen or done.
    seen_at : datetime, optional
        When that was.
    done : Done, optional
        How it was finished, unless that was undone.
    is_crossed : bool
        Whether it was touched off the list since it was last seen.
    is_seen : bool
        Whether it was on the list when that was marked as seen on the day asked for.
    """

    number: int | None = None
    shown: Mapping[str, Any] | None = None
    seen_at: datetime | None = None
    done: Done | None = None
    is_crossed: bool = False
    is_seen: bool = False

    def take(self, row: AnyRow, day: date, now: datetime) -> None:
        """Take in the next row of the line."""
        if row.at.date() == day and row.number is not None:
            self.number = row.number
            self.is_seen = self.is_seen or row.what == "seen"
        if row.what == "crossed":
            self.is_crossed = True
        elif row.what == "undone":
            self.done = None
        elif row.shown is not None:
            self.shown, self.seen_at, self.is_crossed = row.shown, row.at, False
        if row.what == "done":
            before = self.done.weight if self.done else None
            self.done = Done(Weight(row.weight, WeightUnit(row.unit)), row.at, row.by_id,
                             now - row.at <= UNDO_WITHIN, before, _written(row))  # fmt: skip


def _written(row: AnyRow) -> time | None:
    text = (row.shown or {}).get(_WRITTEN)
    return time.fromisoformat(text) if text else None


def load_marks(conn: Connection, day: date, now: datetime) -> dict[str, Mark]:
    """Return what the marks of the last 60 days come to, by line id; numbers are those of `day`."""
    since = now - timedelta(days=_READ_DAYS)
    rows = conn.execute(
        select(bench_marks).where(bench_marks.c.at >= since).order_by(bench_marks.c.seq)
    )
    found: dict[str, Mark] = {}
    for row in rows:
        found.setdefault(row.line_id, Mark()).take(row, day, now)
    return found


def _write(
    act: Act, what: str, line: BenchLine, *, weight: Weight | None = None, shows: bool = True,
    written: time | None = None,
) -> None:  # fmt: skip
    shown = line.shown() | ({_WRITTEN: written.isoformat()} if written else {})
    act.conn.execute(
        insert(bench_marks).values(
            line_id=line.id, number=line.number, what=what, shown=shown if shows else None,
            weight=None if weight is None else weight.count,
            unit=None if weight is None else weight.unit.value,
            at=act.at, by_id=act.by, key=act.key,
        )
    )  # fmt: skip


def _found(on: BenchList, line_id: str) -> BenchLine:
    line = on.line(line_id)
    if line is None:
        raise NotFound(
            f"Line {line_id[:_LONGEST_ID]!r} is not on the list any more; look at it again.",
            where="line",
        )
    return line


def seen(act: Act, on: BenchList, digest: str) -> None:
    """Mark every line as seen; each keeps its number for the day.

    Parameters
    ----------
    act : Act
        The write.
    on : BenchList
        The list as it is now.
    digest : str
        That of the list somebody looked at.

    Raises
    ------
    WrongState
        If the list is another by now: a change that nobody saw would be lost.
    """
    if digest != on.digest:
        raise WrongState(_STALE, where="seen")
    marks = load_marks(act.conn, on.day, act.at)
    for line in on.lines:
        mark = marks.get(line.id, Mark())
        is_known = mark.number == line.number and mark.shown == line.shown()
        if line.is_open and not is_known:
            _write(act, "seen", line)


def done(
    act: Act, on: BenchList, line_id: str, weight: Weight, *, sure: bool = False,
    written: time | None = None,
) -> None:  # fmt: skip
    """Finish a line with what the scale says; of a finished one, correct its weight.

    When every line of a booking is finished the booking is cut.

    Parameters
    ----------
    act : Act
        The write.
    on : BenchList
        The list as it is now.
    line_id : str
        The line.
    weight : Weight
        What the scale says.
    sure : bool
        Whether a weight far from what was promised, or more than is there, was looked at again.
    written : time, optional
        The time of today on the paper, if it is entered later; kept beside that of the entry.

    Raises
    ------
    NotFound
        If it is no line of the list.
    WrongState
        If it was cancelled.
    BadValue
        If it weighs nothing, or the written time is still to come; without `sure`, if it is more
        than is there by the plan, or over a fifth off what was promised and is there.
    """
    line = _found(on, line_id)
    if line.is_off:
        raise WrongState(f"{line.what} for {line.who} is off; touch it to cross it off.")
    if weight <= Weight.zero():
        raise BadValue(f"{line.what} weighs nothing; tare and weigh again.", where="weight")
    if written is not None and written > act.at.time():
        raise BadValue(f"{written:%H:%M} is still to come; write the time that is on the paper.",
                       where="written")  # fmt: skip
    if not sure:
        _ask_twice(line, weight)
    _write(act, "done", line, weight=weight, written=written)
    if line.booking_id is not None:
        _cut(act, on, line)


def _ask_twice(line: BenchLine, weight: Weight) -> None:
    """Refuse more than is there by the plan, and what is far from it; all in the scale's unit."""
    places = 3 if weight.unit is WeightUnit.KG else 2
    short, there = line.short, line.there
    if short is not None and weight > there:
        raise BadValue(
            f"{line.what}: the plan says {short.text(weight.unit, places)} of this is not there;"
            " weigh what there is, or tell the counter.", where="sure",
        )  # fmt: skip
    if Fraction(abs(weight.count - there.count), there.count) > _LIKELY_GAP:
        is_there = "is wanted" if short is None else "is there by the plan"
        raise BadValue(
            f"{line.what}: {there.text(weight.unit, places)} {is_there} and the scale says"
            f" {weight.text(weight.unit, places)}. Weigh again, or say that it is right.",
            where="sure",
        )  # fmt: skip


def _cut(act: Act, on: BenchList, line: BenchLine) -> None:
    """Set the booking to cut if nothing of it is left to do."""
    left = [one for one in on.lines if one.booking_id == line.booking_id and one.is_open]
    number = number_in("H", line.booking_id or "", "booking")
    if {one.id for one in left} - {line.id}:
        return
    if load_booking(act.conn, number, act.settings).state is State.BOOKED:
        note_event(act, number, "state", State.CUT, "all lines weighed at the bench")


def undo(act: Act, on: BenchList, line_id: str) -> None:
    """Take a finished line back to the list, within the hour; a booking it cut is booked again.

    Raises
    ------
    NotFound
        If it is no line of the list.
    WrongState
        If it is not finished, or has been for over an hour.
    """
    line = _found(on, line_id)
    if line.done is None:
        raise WrongState(f"{line.what} is not finished, so there is nothing to undo.")
    if not line.done.lasts:
        raise WrongState(
            f"{line.what} was finished at {line.done.at:%H:%M}, over an hour ago; correct its"
            " weight instead."
        )
    _write(act, "undone", line, shows=False)
    if line.booking_id is not None:
        _uncut(act, number_in("H", line.booking_id, "booking"))


def _uncut(act: Act, number: int) -> None:
    """Book a booking again that the bench set to cut; refuse if it has come further since."""
    booking = load_booking(act.conn, number, act.settings)
    if booking.state is State.BOOKED:
        return
    last = act.conn.scalar(
        select(booking_events.c.key)
        .where(booking_events.c.booking_number == number)
        .order_by(booking_events.c.seq.desc())
        .limit(1)
    )
    by_bench = select(bench_marks.c.seq).where(
        bench_marks.c.key == last, bench_marks.c.what == "done"
    )
    if booking.state is not State.CUT or act.conn.execute(by_bench.limit(1)).first() is None:
        raise WrongState(
            f"{booking.id} is {booking.state} by now; correct the weight of the line instead."
        )
    note_event(act, number, "undo", State.BOOKED)


def cross_off(act: Act, on: BenchList, line_id: str) -> None:
    """Take a cancelled line off the list.

    Raises
    ------
    NotFound
        If it is no line of the list.
    WrongState
        If it was not cancelled.
    """
    line = _found(on, line_id)
    if not line.is_off:
        raise WrongState(f"{line.what} is still wanted; finish it with its weight instead.")
    _write(act, "crossed", line, shows=False)
