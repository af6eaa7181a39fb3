"""Work that was done, read back; and work taken back, to the last count and piece."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import and_, insert, select
from sqlalchemy.engine import Connection

from collop.errors import NotFound, WrongState
from collop.measures import UnitPrice, Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.board import board_at
from collop.shop.hook import booking_id
from collop.shop.knife_tables import lot_links
from collop.shop.learning_cuts import take_work_test_back
from collop.shop.ledger import Pick, held_by, move, pass_on
from collop.shop.lots import at_place, link
from collop.shop.model import Settings
from collop.shop.store import AnyRow
from collop.shop.tables import booking_lines, case_lines, ledger_entries
from collop.shop.week_tables import line_works
from collop.shop.works import WORKED, weigh_anew
from collop.shop.works_case import kept_price
from collop.shop.works_model import RESTS, Work
from collop.shop.works_reading import standing_works

__all__ = ["load_work", "load_works", "take_work_back"]

_BACK = "taken back"
_entry = ledger_entries.c


def _row_of(conn: Connection, number: int) -> AnyRow:
    row = conn.execute(
        select(line_works).where(line_works.c.number == number, line_works.c.takes_back.is_(None))
    ).first()
    if row is None:
        raise NotFound(f"There is no work {number}; look at the list again.", where="work")
    return row


def _parent_of(conn: Connection, lot_id: str) -> str:
    query = select(lot_links.c.parent_id).where(lot_links.c.child_id == lot_id)
    return str(conn.execute(query.order_by(lot_links.c.seq)).first()[0])  # type: ignore[index]


def _rest_of(conn: Connection, row: AnyRow) -> tuple[str, str | None]:
    """Return where what was taken off went, and the lot of it; a loss has none of its own."""
    found = conn.execute(
        select(_entry.lot_id, _entry.place)
        .where(_entry.key == row.key, _entry.reason == WORKED, _entry.delta > 0,
               _entry.place.in_(tuple(RESTS)))
        .order_by(_entry.seq)
    ).all()  # fmt: skip
    parent = _parent_of(conn, row.lot_id)
    for one in found:
        if one.place == "drip" and one.lot_id == row.lot_id:
            return one.place, None
        if one.place != "drip" and _parent_of(conn, one.lot_id) == parent:
            return one.place, one.lot_id
    return "bone", None


def _whole_at(act: Act, lot_id: str, count: int, places: Sequence[str]) -> str:
    """Return the one place all of a lot is at, or raise `WrongState`."""
    for place in places:
        if sum(pick.count for pick in at_place(act.conn, lot_id, place)) == count:
            return place
    raise WrongState(
        f"{lot_id} is no longer whole: some of it is sold, promised or moved on. Count it instead."
    )


def _give_lot_back(act: Act, lot_id: str, way: tuple[str, str], line_id: int | None) -> None:
    """Give a lot back to the one it was made of, each piece as it was."""
    rows = act.conn.execute(
        select(lot_links.c.parent_id, lot_links.c.count.label("total"), _entry.piece_id,
               _entry.unit)
        .join(ledger_entries, and_(_entry.move == lot_links.c.move,
                                   _entry.lot_id == lot_links.c.parent_id))
        .where(lot_links.c.child_id == lot_id, lot_links.c.count > 0)
        .order_by(lot_links.c.seq)
    ).all()  # fmt: skip
    for row in rows:
        given = Pick(lot_id, row.total, row.unit)
        taken = Pick(row.parent_id, row.total, row.unit, row.piece_id)
        moved = pass_on(act, given, taken, way, _BACK, line_id=line_id)
        link(act, moved, row.parent_id, lot_id, -row.total)


def _take_one_back(act: Act, row: AnyRow) -> None:
    place = _whole_at(act, row.lot_id, row.after, ("booked", "case"))
    line_id = row.booking_line_id if place == "booked" else None
    held = set() if line_id is None else {one.lot_id for one in held_by(act.conn, line_id)}
    if place == "booked" and row.lot_id not in held:
        raise WrongState(f"{row.lot_id} is promised to another booking; release that one first.")
    rest_place, rest = _rest_of(act.conn, row)
    if rest_place == "drip":
        lost = Pick(row.lot_id, row.before - row.after, row.unit)
        move(act, [lost], ("drip", place), _BACK, line_id)
    if rest is not None:
        _whole_at(act, rest, row.before - row.after, (rest_place,))
        _give_lot_back(act, rest, (rest_place, place), line_id)
    _give_lot_back(act, row.lot_id, (place, place), line_id)


def take_work_back(act: Act, number: int) -> int:
    """Take a piece of work back: what it was made of is there again, at the place it is now.

    Raises
    ------
    NotFound
        If there is no such work.
    WrongState
        If it was taken back already, or some of what it became or took off has moved on.
    """
    row = _row_of(act.conn, number)
    mine = standing_works(act.conn, line_works.c.key == row.key)
    if number not in {one.number for one in mine}:
        raise WrongState("That work was taken back already.")
    anew = {"number", "takes_back", "at", "by_id", "key"}
    for one in mine:
        _take_one_back(act, one)
        values = {column.name: getattr(one, column.name) for column in line_works.columns
                  if column.name not in anew}  # fmt: skip
        told = {"takes_back": one.number, "at": act.at, "by_id": act.by, "key": act.key}
        act.conn.execute(insert(line_works).values(values | told))
        take_work_test_back(act, one.number)
    if row.booking_line_id is not None and held_by(act.conn, row.booking_line_id):
        query = select(booking_lines).where(booking_lines.c.id == row.booking_line_id)
        weigh_anew(act, act.conn.execute(query).one())
    return number


@dataclass(frozen=True, slots=True)
class _Told:
    """What every piece of work is told with."""

    names: dict[str, str]
    undone: set[int | None]
    board: dict[str, UnitPrice]
    currency: str


def load_works(
    conn: Connection, chosen: Settings, now: datetime, *, booking: int | None = None,
    key: str | None = None,
) -> tuple[Work, ...]:  # fmt: skip
    """Return pieces of work, newest first: of one booking, of one act, or all of them."""
    query = (
        select(line_works, booking_lines.c.booking_number, booking_lines.c.position)
        .outerjoin(booking_lines, booking_lines.c.id == line_works.c.booking_line_id)
        .where(line_works.c.takes_back.is_(None))
        .order_by(line_works.c.number)
    )
    if booking is not None:
        query = query.where(booking_lines.c.booking_number == booking)
    if key is not None:
        query = query.where(line_works.c.key == key)
    taken = select(line_works.c.takes_back).where(line_works.c.takes_back.is_not(None))
    names = conn.execute(select(case_lines.c.id, case_lines.c.name))
    told = _Told(
        {row.id: row.name for row in names}, set(conn.scalars(taken)),
        board_at(conn, now, chosen.currency), chosen.currency,
    )  # fmt: skip
    groups: dict[str, list[AnyRow]] = {}
    for row in conn.execute(query):
        groups.setdefault(row.key, []).append(row)
    return tuple(_work(conn, rows, told) for rows in reversed(groups.values()))


def load_work(conn: Connection, number: int, chosen: Settings, now: datetime) -> Work:
    """Return one piece of work, or raise `NotFound`."""
    return load_works(conn, chosen, now, key=_row_of(conn, number).key)[0]


def _work(conn: Connection, rows: Sequence[AnyRow], told: _Told) -> Work:
    first = rows[0]
    unit = WeightUnit(first.unit)
    before = Weight(sum(row.before for row in rows), unit)
    after = Weight(sum(row.after for row in rows), unit)
    line = None
    if first.booking_number is not None:
        line = f"{booking_id(first.booking_number)}-{first.position}"
    then = board_at(conn, first.at, told.currency)[first.from_case]
    return Work(
        number=first.number, line_id=line, from_case=first.from_case,
        from_name=told.names[first.from_case], into_case=first.into_case,
        name=told.names[first.into_case], before=before, after=after,
        lots=tuple(row.lot_id for row in rows), rest=before - after,
        rest_place=_rest_of(conn, first)[0], words=first.words,
        price=told.board.get(first.into_case), kept=kept_price(then, before, after),
        at=first.at, by=first.by_id, taken_back=first.number in told.undone,
    )  # fmt: skip
