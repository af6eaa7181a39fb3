"""The hook: bookings read back, by number, by day, or by what somebody remembers of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time

from sqlalchemy import ColumnElement, func, or_, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound
from collop.measures import Money, Weight, WeightUnit
from collop.shop.freezer_given import agreed_totals
from collop.shop.ledger import CAME_BACK
from collop.shop.lines import priced_of
from collop.shop.model import Booking, BookingEvent, BookingLine, Settings, Slip, SlipLine, State
from collop.shop.pickup_words import half_cent
from collop.shop.store import AnyRow
from collop.shop.tables import (
    booking_events,
    booking_lines,
    bookings,
    case_lines,
    ledger_entries,
    lots,
    slip_lines,
    slips,
)
from collop.shop.till import kept_totals
from collop.shop.works_model import ToppedUp
from collop.shop.works_reading import LineState, line_states, top_ups_of

__all__ = ["booking_id", "bookings_between", "find_bookings", "load_booking", "load_slip"]

_MOST_FOUND = 50


def booking_id(number: int) -> str:
    """Return the id people say, e.g. ``H12``."""
    return f"H{number}"


@dataclass(slots=True)
class _Held:
    """What the ledger says of one booking line."""

    now: int = 0
    lots: tuple[str, ...] = ()
    use_by: date | None = None
    by_case: dict[str, int] = field(default_factory=dict)


def _held(conn: Connection, numbers: Sequence[int]) -> dict[int, _Held]:
    entry = ledger_entries.c
    rows = conn.execute(
        select(
            entry.booking_line_id, entry.lot_id, lots.c.use_by, lots.c.case_id,
            func.sum(entry.delta).label("now"),
        )
        .join(booking_lines, booking_lines.c.id == entry.booking_line_id)
        .join(lots, lots.c.id == entry.lot_id)
        .where(booking_lines.c.booking_number.in_(numbers), entry.place == "booked")
        .group_by(entry.booking_line_id, entry.lot_id, lots.c.use_by, lots.c.case_id)
        .order_by(lots.c.use_by, entry.lot_id)
    ).all()  # fmt: skip
    found: dict[int, _Held] = defaultdict(_Held)
    # what a line held before tells nothing of it as long as it holds something
    holding = {row.booking_line_id for row in rows if row.now}
    for row in rows:
        if not row.now and row.booking_line_id in holding:
            continue
        held = found[row.booking_line_id]
        held.now += int(row.now)
        if row.now and row.case_id is not None:
            held.by_case[row.case_id] = held.by_case.get(row.case_id, 0) + int(row.now)
        held.lots = (*held.lots, row.lot_id)
        held.use_by = held.use_by or row.use_by
    return found


def _topped_up(
    conn: Connection, rows: Sequence[AnyRow], states: Mapping[int, LineState]
) -> dict[int, list[ToppedUp]]:
    """Return what fills the gaps of lines, by the row of the short line."""
    by_id = {row.id: row for row in rows}
    found: dict[int, list[ToppedUp]] = defaultdict(list)
    for one in top_ups_of(conn, states, by_id):
        other = by_id[one.by_id]
        unit = WeightUnit(other.unit)
        found[one.for_id].append(
            ToppedUp(
                f"{booking_id(other.booking_number)}-{other.position}", other.name,
                Weight(other.weight, unit), None if one.ready is None else Weight(one.ready, unit),
            )
        )  # fmt: skip
    return found


def _lines(conn: Connection, numbers: Sequence[int], currency: str) -> dict[int, list[BookingLine]]:
    held = _held(conn, numbers)
    rows = conn.execute(
        select(booking_lines, case_lines.c.name, slip_lines.c.weighed)
        .join(case_lines, case_lines.c.id == booking_lines.c.case_id)
        .outerjoin(slip_lines, slip_lines.c.booking_line_id == booking_lines.c.id)
        .where(booking_lines.c.booking_number.in_(numbers))
        .order_by(booking_lines.c.booking_number, booking_lines.c.position)
    ).all()
    found: dict[int, list[BookingLine]] = defaultdict(list)
    states = line_states(conn, [row.id for row in rows])
    topped = _topped_up(conn, rows, states)
    for row in rows:
        priced = priced_of(row, row.name, currency)
        stock, unit, state = held[row.id], priced.weight.unit, states[row.id]
        found[row.booking_number].append(
            BookingLine(
                id=f"{booking_id(row.booking_number)}-{row.position}",
                case_id=row.case_id, name=row.name, weight=priced.weight,
                held=Weight(stock.now, unit), pieces=priced.pieces, style=row.style,
                unit_price=priced.unit_price, line_total=priced.line_total, lots=stock.lots,
                use_by=stock.use_by,
                weighed=None if row.weighed is None else Weight(row.weighed, unit),
                off=state.off, worked=state.worked,
                ready=None if state.ready is None else Weight(state.ready, unit),
                held_as=tuple((case_id, Weight(count, unit))
                              for case_id, count in stock.by_case.items()),
                topped_up=tuple(topped[row.id]),
            )
        )  # fmt: skip
    return found


def _events(conn: Connection, numbers: Sequence[int]) -> dict[int, list[BookingEvent]]:
    rows = conn.execute(
        select(booking_events)
        .where(booking_events.c.booking_number.in_(numbers))
        .order_by(booking_events.c.seq)
    )
    found: dict[int, list[BookingEvent]] = defaultdict(list)
    for row in rows:
        event = BookingEvent(row.what, State(row.state), row.at, row.by_id, row.why)
        found[row.booking_number].append(event)
    return found


def _assembled(conn: Connection, rows: Sequence[AnyRow], chosen: Settings) -> tuple[Booking, ...]:
    numbers = [row.number for row in rows]
    lines = _lines(conn, numbers, chosen.currency)
    events = _events(conn, numbers)
    agreed = agreed_totals(conn, numbers, chosen.currency)
    return tuple(
        Booking(
            id=booking_id(row.number), name=row.name, phone_end=row.phone_end,
            collect_at=row.collect_at, heads=row.heads, ask=row.ask,
            lines=tuple(lines[row.number]), note=row.note,
            deposit=Money(row.deposit, chosen.currency), by=row.by_id,
            state=events[row.number][-1].state, made_at=row.made_at,
            quote_id=f"Q{row.quote_number}" if row.quote_number else None,
            events=tuple(events[row.number]), kind=row.kind, agreed=agreed.get(row.number),
        )
        for row in rows
    )  # fmt: skip


def _chosen(
    conn: Connection, chosen: Settings, conditions: Iterable[ColumnElement[bool]], most: int | None
) -> tuple[Booking, ...]:
    query = select(bookings).where(*conditions)
    query = query.order_by(bookings.c.collect_at, bookings.c.number).limit(most)
    return _assembled(conn, conn.execute(query).all(), chosen)


def load_booking(conn: Connection, number: int, chosen: Settings) -> Booking:
    """Return one booking.

    Raises
    ------
    NotFound
        If there is none of that number.
    """
    found = _chosen(conn, chosen, [bookings.c.number == number], None)
    if not found:
        raise NotFound(
            f"There is no booking {booking_id(number)}; look it up by name.", where="booking"
        )
    return found[0]


def bookings_between(
    conn: Connection, first: date, last: date, chosen: Settings
) -> tuple[Booking, ...]:
    """Return the bookings collected from `first` to `last`, both days included, by hour.

    Sales at the glass were never on the hook and are left out.

    Raises
    ------
    BadValue
        If `last` comes before `first`.
    """
    if last < first:
        raise BadValue(f"{last} comes before {first}; turn the days round.", where="last")
    start = datetime.combine(first, time.min)
    end = datetime.combine(last, time.max)
    wanted = [bookings.c.collect_at.between(start, end), bookings.c.kind != "counter"]
    return _chosen(conn, chosen, wanted, None)


def find_bookings(conn: Connection, text: str, chosen: Settings) -> tuple[Booking, ...]:
    """Return bookings whose name holds `text`, or whose phone end or id is `text`."""
    wanted = text.strip().casefold()
    if not wanted:
        return ()
    conditions: list[ColumnElement[bool]] = [
        func.lower(bookings.c.name).contains(wanted, autoescape=True),
        # SQLite lowers only A to Z
        bookings.c.name.contains(text.strip(), autoescape=True),
        bookings.c.phone_end == wanted,
    ]
    digits = wanted.removeprefix("h")
    if digits.isascii() and digits.isdigit() and len(digits) <= 15 and wanted != digits:
        conditions.append(bookings.c.number == int(digits))
    return _chosen(conn, chosen, [or_(*conditions)], _MOST_FOUND)


def _sold_by_line(conn: Connection, number: int) -> dict[int, int]:
    """Return what left the shop for each line of a booking, in counts, whatever came back since."""
    entry = ledger_entries.c
    rows = conn.execute(
        select(entry.booking_line_id, func.sum(entry.delta).label("sold"))
        .join(booking_lines, booking_lines.c.id == entry.booking_line_id)
        .where(booking_lines.c.booking_number == number, entry.place == "sold",
               entry.reason != CAME_BACK)
        .group_by(entry.booking_line_id)
    )  # fmt: skip
    return {row.booking_line_id: int(row.sold) for row in rows}


def load_slip(conn: Connection, number: int, chosen: Settings) -> Slip:
    """Return the slip of a booking that has gone."""
    slip = conn.execute(select(slips).where(slips.c.booking_number == number)).one()
    rows = conn.execute(
        select(
            booking_lines,
            case_lines.c.name,
            slip_lines.c.weighed,
            slip_lines.c.unit.label("weighed_unit"),
            slip_lines.c.line_total.label("to_pay"),
        )
        .join(booking_lines, booking_lines.c.id == slip_lines.c.booking_line_id)
        .join(case_lines, case_lines.c.id == booking_lines.c.case_id)
        .where(slip_lines.c.slip_number == slip.number)
        .order_by(booking_lines.c.position)
    )
    lines, sold = [], _sold_by_line(conn, number)
    for row in rows:
        priced = priced_of(row, row.name, chosen.currency)
        weighed = Weight(row.weighed, WeightUnit(row.weighed_unit))
        lines.append(
            SlipLine(
                line_id=f"{booking_id(number)}-{row.position}",
                case_id=row.case_id, name=row.name, booked=priced.weight,
                weighed=weighed,
                unit_price=priced.unit_price, line_total=Money(row.to_pay, chosen.currency),
                lost=Weight(row.weighed - sold.get(row.id, 0), weighed.unit),
                half_cent=half_cent(priced.unit_price, weighed, chosen.rounding),
            )
        )  # fmt: skip
    total, deposit = Money(slip.total, chosen.currency), Money(slip.deposit, chosen.currency)
    return Slip(
        booking_id=booking_id(number), lines=tuple(lines), total=total, deposit=deposit,
        at=slip.at, by=slip.by_id,
        charged=kept_totals(conn, slip.number, before=total, deposit=deposit),
    )  # fmt: skip
