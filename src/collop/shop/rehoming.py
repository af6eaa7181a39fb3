"""What a released booking left in the case: its value, until when, and the moves for each line."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from fractions import Fraction

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.errors import WrongState
from collop.measures import Money, UnitPrice, Weight, round_fraction, sum_money
from collop.shop.ageing import load_view
from collop.shop.case import load_case
from collop.shop.hook import booking_id, load_booking
from collop.shop.ledger import Pick
from collop.shop.lots import at_place
from collop.shop.model import CaseLine, Settings, State
from collop.shop.payments import deposit_word
from collop.shop.quotes import number_in
from collop.shop.rehoming_model import Homeless, Rehoming
from collop.shop.rehoming_moves import Item, moves_for
from collop.shop.releasing import line_rows, released_by
from collop.shop.store import AnyRow
from collop.shop.tables import booking_events, lots
from collop.shop.week_tables import line_works
from collop.shop.works_reading import standing_works

__all__ = ["last_open_hour", "load_rehoming"]

_LOOK_DAYS = 60


def last_open_hour(now: datetime, chosen: Settings, last: date | None = None) -> datetime | None:
    """Return the last hour to sell before the shop is shut for a day, and not after `last`.

    None if there is none: what must go by `last` cannot be sold any more.

    Examples
    --------
    >>> shop = Settings("x")  # open Tuesday to Saturday, 8 to 18
    >>> last_open_hour(datetime(2026, 6, 11, 17), shop).isoformat()
    '2026-06-13T18:00:00'
    >>> last_open_hour(datetime(2026, 6, 11, 17), shop, date(2026, 6, 12)).isoformat()
    '2026-06-12T18:00:00'
    """
    found = None
    for step in range(_LOOK_DAYS):
        day = now.date() + timedelta(days=step)
        if last is not None and day > last:
            break
        closes = datetime.combine(day, chosen.closes)
        if chosen.is_open(day) and closes > now:
            found = closes
        elif found is not None:
            break
    return found


@dataclass(frozen=True, slots=True)
class _Came:
    """What came back of one lot: `value` is exact, in minor units."""

    case_id: str
    pick: Pick
    left: int
    use_by: date | None
    value: Fraction


def _off_key(conn: Connection, number: int) -> str:
    found = conn.scalar(
        select(booking_events.c.key)
        .where(booking_events.c.booking_number == number)
        .order_by(booking_events.c.seq.desc())
    )
    return str(found)


def _value(row: AnyRow, work: AnyRow | None, count: int, board: dict[str, UnitPrice]) -> Fraction:
    """Return what came back at the board; worked meat at the value of what it was made of."""
    case_id = row.case_id if work is None else work.from_case
    weight = Fraction(count) if work is None else Fraction(count * work.before, work.after)
    price = board.get(case_id)
    if price is None:
        return Fraction(0)
    one = Weight.of(1, price.per).count
    return weight / one * price.minor


def _came(conn: Connection, number: int, board: dict[str, UnitPrice]) -> list[_Came]:
    key = _off_key(conn, number)
    picks = [one for row in line_rows(conn, number) for one in released_by(conn, row.id, key)]
    found = conn.execute(
        select(lots.c.id, lots.c.case_id, lots.c.use_by).where(
            lots.c.id.in_([one.lot_id for one in picks])
        )
    )
    rows = {row.id: row for row in found}
    made = {row.lot_id: row for row in standing_works(conn, line_works.c.lot_id.in_(list(rows)))}
    came = []
    for one in picks:
        row = rows[one.lot_id]
        free = sum(pick.count for pick in at_place(conn, one.lot_id, "case")
                   if pick.piece_id == one.piece_id)  # fmt: skip
        value = _value(row, made.get(one.lot_id), one.count, board)
        came.append(_Came(row.case_id, one, min(free, one.count), row.use_by, value))
    return came


def _item(line: CaseLine, came: Sequence[_Came], now: datetime, chosen: Settings) -> Homeless:
    unit = line.price.per
    last = min((one.use_by for one in came if one.use_by is not None), default=None)
    value = sum((one.value for one in came), Fraction(0))
    return Homeless(
        case_id=line.id, name=line.name, is_meat=line.species != "none",
        came=Weight(sum(one.pick.count for one in came), unit),
        left=Weight(sum(one.left for one in came), unit),
        lots=tuple(dict.fromkeys(one.pick.lot_id for one in came)), price=line.price,
        value=Money(round_fraction(value, chosen.rounding), chosen.currency), use_by=last,
        days_left=None if last is None else (last - now.date()).days,
        sell_by=last_open_hour(now, chosen, last), moves=(),
    )  # fmt: skip


def _by_case(came: Iterable[_Came]) -> dict[str, list[_Came]]:
    found: dict[str, list[_Came]] = {}
    for one in came:
        found.setdefault(one.case_id, []).append(one)
    return found


def _words(value: Money, sell_by: datetime | None, *, is_left: bool) -> str:
    if not value.minor:
        return "No meat to re-home."
    if not is_left:
        return f"{value} of meat at the board, and all of it has found a home."
    if sell_by is None:
        return f"{value} of meat at the board, and no open hour left to sell it."
    return f"{value} of meat at the board to re-home by {sell_by:%a %H:%M}."


def load_rehoming(conn: Connection, name: str, chosen: Settings, now: datetime) -> Rehoming:
    """Return what a booking that is off left to sell.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    name : str
        Booking id.
    chosen : Settings
        Opening hours, rounding, and the figures of the moves.
    now : datetime
        Shop-local.

    Raises
    ------
    NotFound
        If there is no such booking.
    WrongState
        If it is not off.
    """
    number = number_in("H", name, "booking")
    booking = load_booking(conn, number, chosen)
    if booking.state is not State.OFF:
        raise WrongState(f"{booking_id(number)} is {booking.state}; release it first.")
    case = {one.id: one for one in load_case(conn, now, chosen)}
    board = {one.id: one.price for one in case.values()}
    items = [
        _item(case[case_id], came, now, chosen)
        for case_id, came in _by_case(_came(conn, number, board)).items()
        if case_id in case
    ]
    view = load_view(conn, now, chosen)
    found = tuple(
        replace(one, moves=moves_for(conn, Item(one, case[one.case_id], number), view, case))
        for one in items
    )
    meat = [one for one in found if one.is_meat]
    value = sum_money((one.value for one in meat), chosen.currency)
    waits = [one for one in meat if one.left]
    sell_by = min((one.sell_by for one in waits if one.sell_by is not None), default=None)
    return Rehoming(
        booking_id=booking.id, name=booking.name, value=value, sell_by=sell_by,
        words=_words(value, sell_by, is_left=bool(waits)), items=found,
        deposit=deposit_word(conn, number, now, chosen),
    )  # fmt: skip
