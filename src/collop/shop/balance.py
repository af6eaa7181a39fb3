"""Does the ledger hold? In = out + on hand for every lot, and promises match what is reserved.

For each lot: what came in at the door or by a link is what left by a link, what has left the shop
and what is there. No place holds less than nothing, and the marks say what the entries say.
"""

from __future__ import annotations

from collections.abc import Iterator

from sqlalchemy import Subquery, and_, case, func, literal, select, union_all
from sqlalchemy.engine import Connection

from collop.measures import Weight
from collop.shop.audit_chain import audit_faults
from collop.shop.hook import booking_id
from collop.shop.knife_tables import (
    break_events,
    breaks,
    lot_links,
    stock_mark_lines,
    stock_marks,
    weighings,
)
from collop.shop.ledger import DOOR, FOUND, RECEIVED
from collop.shop.model import State
from collop.shop.returning import return_faults
from collop.shop.stock import HELD
from collop.shop.tables import (
    booking_events,
    booking_lines,
    bookings,
    case_lines,
    ledger_entries,
    lots,
    pieces,
    slip_lines,
)
from collop.shop.week_tables import line_works, returned_lines
from collop.shop.works_reading import line_states

__all__ = ["faults"]

_entry = ledger_entries.c


def _text(count: int) -> str:
    return Weight(count).text(places=3)


def _carried() -> Subquery:
    """Return what links carried into each lot, and what they carried out of it."""
    count = lot_links.c.count
    child = lot_links.c.child_id.label("lot_id")
    into = select(child, count.label("into"), literal(0).label("out"))
    out = select(lot_links.c.parent_id, literal(0), count)
    both = into.union_all(out).subquery()
    return (
        select(
            both.c.lot_id, func.sum(both.c.into).label("into"), func.sum(both.c.out).label("out"),
            # what it was made with; what was taken back since is a link below zero
            func.sum(case((both.c.into > 0, both.c.into), else_=0)).label("begun"),
        ).group_by(both.c.lot_id).subquery()
    )  # fmt: skip


def _lots(conn: Connection) -> Iterator[str]:
    """See that for each lot what came in is what links took out and what the places add up to."""
    door = func.sum(case((_entry.reason.in_(DOOR), _entry.delta), else_=0)).label("door")
    first = func.sum(case((_entry.reason == RECEIVED, _entry.delta), else_=0)).label("received")
    kept = func.sum(_entry.delta).label("kept")
    sums = select(_entry.lot_id, door, first, kept).group_by(_entry.lot_id).subquery()
    carried = _carried()
    columns = (sums.c.door, sums.c.received, sums.c.kept, carried.c.into, carried.c.out,
               carried.c.begun)  # fmt: skip
    rows = conn.execute(
        select(lots.c.id, lots.c.weight_in, *columns)
        .outerjoin(sums, sums.c.lot_id == lots.c.id)
        .outerjoin(carried, carried.c.lot_id == lots.c.id)
    )
    for row in rows:
        door_in, received, held, into, out, begun = (int(value or 0) for value in row[2:])
        if received + begun != row.weight_in:
            yield (
                f"Lot {row.id} was made with {_text(row.weight_in)}, and {_text(received + begun)}"
                " came in."
            )
        if door_in + into - out != held:
            yield (
                f"Lot {row.id}: {_text(door_in + into)} came in, and {_text(held + out)} is"
                " accounted for."
            )


def _moves(conn: Connection) -> Iterator[str]:
    """See that each move takes from a lot what it gives to it, but for what links carry over."""
    carried = (
        select(
            lot_links.c.move, lot_links.c.parent_id.label("lot_id"),
            (-func.sum(lot_links.c.count)).label("total"),
        )
        .group_by(lot_links.c.move, lot_links.c.parent_id)
        .union_all(
            select(lot_links.c.move, lot_links.c.child_id, func.sum(lot_links.c.count))
            .group_by(lot_links.c.move, lot_links.c.child_id)
        )
        .subquery()
    )  # fmt: skip
    gap = func.sum(_entry.delta)
    moved = (
        select(_entry.move, _entry.lot_id, gap.label("total"))
        .where(_entry.reason.not_in(DOOR))
        .group_by(_entry.move, _entry.lot_id)
        .having(gap != 0)
        .subquery()
    )
    rows = conn.execute(
        select(moved.c.move, moved.c.lot_id, moved.c.total, carried.c.total.label("carried"))
        .outerjoin(
            carried, and_(carried.c.move == moved.c.move, carried.c.lot_id == moved.c.lot_id)
        )
        .where(func.coalesce(carried.c.total, 0) != moved.c.total)
    )
    for row in rows:
        short = int(row.total) - int(row.carried or 0)
        yield f"Lot {row.lot_id}: a move is out of balance by {_text(short)}."


def _links(conn: Connection) -> Iterator[str]:
    """See that what a link says was carried is what its move took from the parent."""
    left = func.coalesce(func.sum(_entry.delta), 0)
    rows = conn.execute(
        select(
            lot_links.c.seq,
            lot_links.c.parent_id,
            lot_links.c.count.label("carried"),
            left.label("left"),
        )
        .outerjoin(
            ledger_entries,
            and_(_entry.move == lot_links.c.move, _entry.lot_id == lot_links.c.parent_id),
        )
        .group_by(lot_links.c.seq, lot_links.c.parent_id, lot_links.c.count)
        .having(left + lot_links.c.count != 0)
    )
    for row in rows:
        yield (
            f"Lot {row.parent_id}: a link carries {_text(row.carried)}, and {_text(-int(row.left))}"
            " left it."
        )


def _places(conn: Connection) -> Iterator[str]:
    there = func.sum(_entry.delta)
    rows = conn.execute(
        select(_entry.lot_id, _entry.place, there.label("there"))
        .group_by(_entry.lot_id, _entry.place)
        .having(there < 0)
    )
    for row in rows:
        name = "free" if row.place == "case" else row.place
        yield f"Lot {row.lot_id}: {_text(int(row.there))} is {name}, less than nothing."


def _marks(conn: Connection) -> Iterator[str]:
    """See that the newest mark says what the entries up to it add up to."""
    mark = conn.scalar(select(func.max(stock_marks.c.seq)))
    if mark is None:
        return
    line = stock_mark_lines.c
    kept = select(line.lot_id, line.place, line.piece_id, (-line.count).label("delta"))
    entries = select(_entry.lot_id, _entry.place, _entry.piece_id, _entry.delta)
    both = union_all(
        kept.where(line.mark_seq == mark),
        entries.where(_entry.seq <= mark, _entry.place.in_(HELD)),
    ).subquery()
    gap = func.sum(both.c.delta)
    rows = conn.execute(
        select(both.c.lot_id, both.c.place, gap.label("gap"))
        .group_by(both.c.lot_id, both.c.place, both.c.piece_id)
        .having(gap != 0)
    )
    for row in rows:
        yield f"Lot {row.lot_id}: the mark at {row.place} is out by {_text(int(row.gap))}."


def _breaks(conn: Connection) -> Iterator[str]:
    """See that each break's start weight is its standing weighings, its loss and what is left."""
    # a join, not NOT IN: that would go through all of them for each of them
    undoing = weighings.alias("undoing")
    standing = (
        select(weighings.c.break_number, func.sum(weighings.c.weight).label("weighed"))
        .outerjoin(undoing, undoing.c.takes_back == weighings.c.seq)
        .where(weighings.c.takes_back.is_(None), undoing.c.seq.is_(None))
        .group_by(weighings.c.break_number)
        .subquery()
    )
    newest = select(break_events.c.break_number, func.max(break_events.c.seq).label("seq"))
    last = newest.group_by(break_events.c.break_number).subquery()
    rows = conn.execute(
        select(breaks, func.coalesce(standing.c.weighed, 0).label("weighed")).outerjoin(
            standing, standing.c.break_number == breaks.c.number
        )
    ).all()
    events = {
        row.break_number: row
        for row in conn.execute(select(break_events).join(last, last.c.seq == break_events.c.seq))
    }
    found = dict(_found_on_block(conn))
    for row in rows:
        event = events.get(row.number)
        if event is None or event.what != "closed":
            continue
        gap = row.start + found.get(row.number, 0) - int(row.weighed) - event.gap
        if gap:
            yield f"Break {row.number} of {row.lot_id} does not close by {_text(gap)}."


def _found_on_block(conn: Connection) -> Iterator[tuple[int, int]]:
    """Yield what the scale found on the block since each break began, by break."""
    other = ledger_entries.alias("other")
    begun = select(func.min(other.c.seq)).where(other.c.key == breaks.c.key).scalar_subquery()
    rows = conn.execute(
        select(breaks.c.number, func.sum(_entry.delta).label("total"))
        .join(ledger_entries, _entry.lot_id == breaks.c.lot_id)
        .where(_entry.reason == FOUND, _entry.place == "block", _entry.seq > begun)
        .group_by(breaks.c.number)
    )
    return ((row.number, int(row.total)) for row in rows)


def _pieces(conn: Connection) -> Iterator[str]:
    there = func.sum(_entry.delta)
    rows = conn.execute(
        select(_entry.piece_id, _entry.place, pieces.c.weight, there.label("there"))
        .join(pieces, pieces.c.id == _entry.piece_id)
        .group_by(_entry.piece_id, _entry.place, pieces.c.weight)
        .having(there != 0)
    )
    seen: set[int] = set()
    for row in rows:
        if row.piece_id in seen or int(row.there) != row.weight:
            yield f"Piece {row.piece_id} of {_text(row.weight)} is not whole in one place."
        seen.add(row.piece_id)


def _states(conn: Connection) -> dict[int, State]:
    rows = conn.execute(
        select(booking_events.c.booking_number, booking_events.c.state).order_by(
            booking_events.c.seq
        )
    )
    return {row.booking_number: State(row.state) for row in rows}


def _promises(conn: Connection) -> Iterator[str]:
    states, done = _states(conn), line_states(conn)
    booked = select(_entry.booking_line_id, func.sum(_entry.delta).label("held")).where(
        _entry.place == "booked"
    )
    sums = booked.group_by(_entry.booking_line_id).subquery()
    rows = conn.execute(
        select(booking_lines, func.coalesce(sums.c.held, 0).label("held")).outerjoin(
            sums, sums.c.booking_line_id == booking_lines.c.id
        )
    )
    for row in rows:
        state = states.get(row.booking_number, State.OFF)
        whole = row.piece_counts is not None
        promised = done[row.id].held_of(row.weight, whole=whole) if state.holds else 0
        if int(row.held) != promised:
            yield (
                f"{booking_id(row.booking_number)} ({state}) holds {_text(int(row.held))} of"
                f" {row.case_id}, and {_text(promised)} is promised."
            )
    for row in conn.execute(select(bookings.c.number)):
        if row.number not in states:
            yield f"{booking_id(row.number)} has no state."


def _sold(conn: Connection) -> Iterator[str]:
    """See that a slip charges for what left, what work took off, and what came back since."""
    sold = func.coalesce(func.sum(_entry.delta), 0).label("sold")
    rows = conn.execute(
        select(
            slip_lines.c.weighed, booking_lines.c.id, booking_lines.c.booking_number,
            booking_lines.c.case_id, sold,
        )
        .join(booking_lines, booking_lines.c.id == slip_lines.c.booking_line_id)
        .outerjoin(
            ledger_entries,
            and_(_entry.booking_line_id == booking_lines.c.id, _entry.place == "sold"),
        )
        .group_by(
            slip_lines.c.id, slip_lines.c.weighed, booking_lines.c.id,
            booking_lines.c.booking_number, booking_lines.c.case_id,
        )
    ).all()  # fmt: skip
    done, came = line_states(conn), _came_back(conn)
    for row in rows:
        left = int(row.sold) + came.get(row.id, 0)
        if done[row.id].worked.paid_for(left) != row.weighed:
            yield (
                f"{booking_id(row.booking_number)}: the slip says {_text(row.weighed)} of"
                f" {row.case_id}, the ledger {_text(left)}."
            )


def _came_back(conn: Connection) -> dict[int, int]:
    """Return what came back over the glass, by line, in counts."""
    rows = conn.execute(
        select(
            returned_lines.c.booking_line_id, func.sum(returned_lines.c.weight).label("total")
        ).group_by(returned_lines.c.booking_line_id)
    )
    return {row.booking_line_id: int(row.total) for row in rows}


def _species(conn: Connection) -> Iterator[str]:
    """See that a case line holds its own species only."""
    rows = conn.execute(
        select(lots.c.id, lots.c.species, case_lines.c.name, case_lines.c.species.label("wanted"))
        .join(case_lines, case_lines.c.id == lots.c.case_id)
        .where(case_lines.c.species != lots.c.species, case_lines.c.species != "none")
    )
    for row in rows:
        yield f"Lot {row.id} is {row.species}, and {row.name} is {row.wanted}."


def _strays(conn: Connection) -> Iterator[str]:
    """See that a booking line holds its own cut, or what its own work made of it."""
    made = select(line_works.c.number).where(
        line_works.c.booking_line_id == _entry.booking_line_id,
        line_works.c.lot_id == _entry.lot_id,
    )
    rows = conn.execute(
        select(_entry.seq, booking_lines.c.booking_number)
        .join(booking_lines, booking_lines.c.id == _entry.booking_line_id)
        .join(lots, lots.c.id == _entry.lot_id)
        .where(lots.c.case_id != booking_lines.c.case_id, ~made.exists())
    )
    for row in rows:
        yield f"{booking_id(row.booking_number)} holds weight of another cut (entry {row.seq})."


def _file(conn: Connection) -> Iterator[str]:
    if conn.dialect.name != "sqlite":
        return
    for row in conn.exec_driver_sql("PRAGMA integrity_check"):
        if row[0] != "ok":
            yield f"The database file is damaged: {row[0]}; restore the last backup."
    for row in conn.exec_driver_sql("PRAGMA foreign_key_check"):
        yield f"A row of {row[0]} points to nothing in {row[2]}."


def faults(conn: Connection) -> list[str]:
    """Return one sentence for each fault; an empty list is a clean ledger."""
    checks = (
        _file, _lots, _moves, _links, _places, _pieces, _breaks, _marks, _promises, _sold, _strays,
        _species, return_faults, audit_faults,
    )  # fmt: skip
    return [sentence for check in checks for sentence in check(conn)]
