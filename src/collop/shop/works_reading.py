"""What was done on booked lines: work that took weight off, weighed ahead, swapped or left out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.engine import Connection

from collop.measures import decimal_of
from collop.shop.store import AnyRow
from collop.shop.week_tables import line_ends, line_weighings, line_works
from collop.shop.works_model import Worked

__all__ = [
    "ENDS", "LineState", "TopUpRow", "line_states", "standing_works", "top_ups_of", "with_made",
]  # fmt: skip

#: What of `line_ends` takes a line off; the newest row of a line counts.
ENDS = ("swap", "left out")


@dataclass(slots=True)
class LineState:
    """What was done on one booked line, in counts.

    `made` are the lots that what was worked on became. `ready` is what was weighed ahead, None if
    it was not.
    """

    worked: Worked = field(default_factory=Worked)
    made: list[str] = field(default_factory=list)
    ready: int | None = None
    off: bool = False

    def held_of(self, promised: int, *, whole: bool) -> int:
        """Return what a line of `promised` holds as long as its booking holds.

        A line sold by the `whole` piece holds its pieces whatever they weighed.
        """
        if self.off:
            return 0
        if self.ready is not None and not whole:
            return self.ready
        return promised - self.worked.lost


def standing_works(conn: Connection, *where: ColumnElement[bool]) -> Sequence[AnyRow]:
    """Return the rows of work that were not taken back, oldest first."""
    undoing = line_works.alias("undoing")
    return conn.execute(
        select(line_works)
        .outerjoin(undoing, undoing.c.takes_back == line_works.c.number)
        .where(line_works.c.takes_back.is_(None), undoing.c.number.is_(None), *where)
        .order_by(line_works.c.number)
    ).all()


def _newest(
    line: ColumnElement[int], seq: ColumnElement[int], where: Sequence[ColumnElement[bool]]
) -> ColumnElement[bool]:
    """Return that a row is the newest of its line, among the lines that are asked for."""
    return seq.in_(select(func.max(seq)).where(*where).group_by(line).scalar_subquery())


def line_states(
    conn: Connection, line_ids: Collection[int] | None = None
) -> defaultdict[int, LineState]:
    """Return what was done on lines; one with nothing done has the state of a new one.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    line_ids : collection of int, optional
        Rows of booked lines; left out, all of them.
    """
    found: defaultdict[int, LineState] = defaultdict(LineState)

    def of(column: ColumnElement[int]) -> list[ColumnElement[bool]]:
        return [] if line_ids is None else [column.in_(list(line_ids))]

    for row in standing_works(conn, line_works.c.booking_line_id.is_not(None),
                              *of(line_works.c.booking_line_id)):  # fmt: skip
        state = found[row.booking_line_id]
        was = state.worked
        state.worked = Worked(was.before + row.before, was.after + row.after)
        state.made.append(row.lot_id)
    weighed, ended = line_weighings.c, line_ends.c
    newest = _newest(weighed.booking_line_id, weighed.seq, of(weighed.booking_line_id))
    for row in conn.execute(select(line_weighings).where(newest)):
        found[row.booking_line_id].ready = row.weighed
    newest = _newest(ended.booking_line_id, ended.seq, of(ended.booking_line_id))
    for row in conn.execute(select(line_ends).where(newest)):
        found[row.booking_line_id].off = row.what in ENDS
    return found


@dataclass(frozen=True, slots=True)
class TopUpRow:
    """A top-up that still stands: which line it was for, which fills it, and `ready` before it."""

    for_id: int
    by_id: int
    ready: int | None


def top_ups_of(
    conn: Connection, states: Mapping[int, LineState], line_ids: Collection[int]
) -> list[TopUpRow]:
    """Return the top-ups of lines whose other line was neither swapped nor left out since.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    states : mapping of int to LineState
        Of all lines of their bookings.
    line_ids : collection of int
        Rows of booked lines.
    """
    ended, weighed = line_ends.c, line_weighings.c
    rows = conn.execute(
        select(ended.booking_line_id, ended.new_line_id, ended.at)
        .where(ended.booking_line_id.in_(list(line_ids)), ended.what == "top up",
               ended.new_line_id.is_not(None))
        .order_by(ended.seq)
    ).all()  # fmt: skip
    found = []
    for row in rows:
        if states[row.new_line_id].off:
            continue
        before = conn.scalar(
            select(weighed.weighed)
            .where(weighed.booking_line_id == row.booking_line_id, weighed.at <= row.at)
            .order_by(weighed.seq.desc())
            .limit(1)
        )
        found.append(TopUpRow(row.booking_line_id, row.new_line_id, before))
    return found


def with_made(conn: Connection, worths: Mapping[str, Decimal]) -> dict[str, Decimal]:
    """Return worths by line, with those of lines that work made and no plan knows.

    One more pound of such a line is worth what its parent was worth before the newest work on it.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    worths : mapping of str to Decimal
        Worth per unit by the id of a line of the case.
    """
    found = dict(worths)
    for row in standing_works(conn):
        if row.into_case not in worths and row.from_case in worths:
            times = Fraction(row.before, row.after)
            found[row.into_case] = decimal_of(Fraction(worths[row.from_case]) * times, 4)
    return found
