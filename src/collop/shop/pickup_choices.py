"""What a customer chooses about a line that is short or cannot be: take, top up, swap, leave out.

A line that is swapped or left out is off: what it held is free again. What comes instead is a line
of its own, under its own name and at its own board price.
"""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import func, insert, select

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import Money, Weight
from collop.shop.acts import Act
from collop.shop.booking import note_event, reserve
from collop.shop.case import load_case
from collop.shop.hook import load_booking
from collop.shop.model import Booking, BookingLine, CaseLine, NewLine
from collop.shop.pickup_money import money_now
from collop.shop.pickup_stand_ins import bars, stand_in
from collop.shop.releasing import hold_again, let_go
from collop.shop.store import AnyRow
from collop.shop.tables import booking_lines
from collop.shop.week_tables import line_ends
from collop.shop.works import booked_row
from collop.shop.works_reading import ENDS

__all__ = ["CHOICES", "STOP", "WAYS", "Chosen", "choose", "end_line", "line_of",
           "undo_choice"]  # fmt: skip

TAKE, TOP_UP, SWAP, LEFT_OUT = "take", "top up", "swap", "left out"
#: The ways out of a line, as they are kept.
WAYS = (TAKE, TOP_UP, SWAP, LEFT_OUT)
STOP = "stop"
#: What of the events of a booking is such a choice, and can be undone as one.
CHOICES = (*WAYS, STOP)
_LONGEST = 200


@dataclass(frozen=True, slots=True)
class Chosen:
    """What was chosen for a line, and what the customer agreed to.

    `case_id` and `weight` name what comes instead; left out, it is the nearest free like cut.
    `total` is the new total that the customer was told, None if it was not.
    """

    line_id: str
    what: str
    agreed: str = ""
    case_id: str | None = None
    weight: Weight | None = None
    total: Money | None = None


def line_of(booking: Booking, line_id: str) -> BookingLine:
    """Return a line of a booking that can still be changed.

    Raises
    ------
    NotFound
        If it has no such line.
    WrongState
        If the booking has gone or is off, or the line is off.
    """
    line = next((one for one in booking.lines if one.id == line_id.strip().upper()), None)
    if line is None:
        raise NotFound(f"{booking.id} has no line {line_id[:40]!r}.", where=line_id[:40])
    if not booking.state.holds:
        raise WrongState(f"{booking.id} is {booking.state}; nothing on it can be changed.")
    if line.off:
        raise WrongState(f"{line.name} ({line.id}) is off already.")
    return line


def _gap(line: BookingLine, what: str) -> Weight:
    """Return the weight of the booked cut that something else must make up for."""
    if what == SWAP:
        return line.to_swap
    if line.ready is None:
        raise WrongState(f"{line.name} is not weighed yet; put it on the scale first.")
    gap = line.missing
    if gap <= Weight.zero():
        raise WrongState(f"{line.name} is not short; there is nothing to choose.")
    return gap


def _not_filled(line: BookingLine) -> None:
    """Refuse to fill a gap that was filled; `missing` tells of one that came after it."""
    if line.topped_up and not line.missing:
        last = line.topped_up[-1]
        raise WrongState(
            f"{line.name} is {last.words} already: undo that, or leave {last.name} out"
            f" ({last.line_id}), before something else is chosen."
        )


def _instead(act: Act, booking: Booking, line: BookingLine, chosen: Chosen) -> NewLine:
    case = load_case(act.conn, act.at, act.settings)
    if chosen.case_id is None:
        gap = _gap(line, chosen.what)
        found = stand_in(booking, line, gap, case, act.settings.rounding)
        if found is None:
            raise WrongState(
                f"Nothing like {line.name} is free; take it as it is, or leave it out."
            )
        return NewLine(found.case_id, found.weight)
    wanted = next((one for one in case if one.id == chosen.case_id.strip().upper()), None)
    if wanted is None:
        raise NotFound(f"There is no case line {chosen.case_id[:40]!r}; look at the case again.",
                       where="case_id")  # fmt: skip
    _may_have(booking, line, wanted, case)
    if chosen.weight is None or chosen.weight <= Weight.zero():
        raise BadValue(f"Say how much of {wanted.name} comes instead.", where="weight")
    return NewLine(wanted.id, chosen.weight)


def _may_have(
    booking: Booking, line: BookingLine, wanted: CaseLine, case: tuple[CaseLine, ...]
) -> None:
    if wanted.id == line.case_id:
        raise BadValue(f"{wanted.name} is what is booked; weigh it instead.", where="case_id")
    if wanted.is_past:
        raise BadValue(f"{wanted.name} is past its day; choose another cut.", where="case_id")
    booked = next((one for one in case if one.id == line.case_id), wanted)
    barred = bars(booking, booked, wanted)
    if barred:
        raise BadValue(
            f"{wanted.name} holds {', '.join(barred)}, which this table must not have; choose"
            " another cut.",
            where="case_id",
        )


def _add(act: Act, number: int, new: NewLine) -> AnyRow:
    reserve(act, number, [new])
    last = select(func.max(booking_lines.c.id)).where(booking_lines.c.booking_number == number)
    query = select(booking_lines).where(booking_lines.c.id == last.scalar_subquery())
    return act.conn.execute(query).one()


def end_line(act: Act, line_id: int, what: str, agreed: str, new_id: int | None = None) -> None:
    """Keep what was chosen for a booked line; one that ends gives back what it holds."""
    if what in ENDS:
        let_go(act, line_id)
    act.conn.execute(
        insert(line_ends).values(
            booking_line_id=line_id, what=what, new_line_id=new_id,
            agreed=agreed.strip()[:_LONGEST], at=act.at, by_id=act.by, key=act.key,
        )
    )  # fmt: skip


def choose(act: Act, chosen: Chosen) -> str:
    """Write what the customer chose for one line; return the id of the line.

    Raises
    ------
    BadValue
        If there is no such way, nobody said what was agreed, or what comes instead holds what the
        table must not have.
    NotFound
        If there is no such line.
    WrongState
        If the booking does not hold any more, the line is off, nothing like it is free, or the
        total is not what the customer was told.
    NotEnoughFree
        If less of what comes instead is free.
    """
    if chosen.what not in WAYS:
        raise BadValue(f"Choose one of {', '.join(WAYS)}.", where="what")
    if not chosen.agreed.strip():
        raise BadValue("Write what the customer agreed to; a word or two will do.", where="agreed")
    booked = booked_row(act.conn, chosen.line_id)
    booking = load_booking(act.conn, booked.number, act.settings)
    line = line_of(booking, chosen.line_id)
    new = None
    if chosen.what in {TAKE, TOP_UP}:
        _not_filled(line)
    if chosen.what == TAKE:
        _gap(line, TAKE)
    if chosen.what in {TOP_UP, SWAP}:
        wish = _instead(act, booking, line, chosen)
        new = _add(act, booked.number, wish)
    end_line(act, booked.row.id, chosen.what, chosen.agreed, None if new is None else new.id)
    after = load_booking(act.conn, booked.number, act.settings)
    said = _said(line, after, chosen, new)
    total = _total(act, after)
    if chosen.total is not None and chosen.total != total:
        raise WrongState(
            f"The total is {total} now, not {chosen.total}: something was changed meanwhile; look"
            " at it again."
        )
    note_event(act, booked.number, chosen.what, booking.state, said)
    return line.id


def _total(act: Act, booking: Booking) -> Money:
    """Return what the lines come to with tax: those weighed ahead at what was weighed."""
    return money_now(act.conn, booking, act.settings, act.at.date()).now.total


def _said(line: BookingLine, after: Booking, chosen: Chosen, new: AnyRow | None) -> str:
    what = f"{line.name}: {chosen.what}"
    if new is not None:
        made = next(one for one in after.lines if one.id.endswith(f"-{new.position}"))
        price = f"{made.unit_price.amount:f} a {made.unit_price.per}"
        what += f", {made.weight.text()} of {made.name} at {price}"
    return f"{what}; {chosen.agreed.strip()}"


def undo_choice(act: Act, number: int, key: str) -> None:
    """Take a choice back: what came instead goes, and the line holds what it gave back.

    Raises
    ------
    NotEnoughFree
        If what the line gave back is promised to somebody else.
    """
    rows = act.conn.execute(
        select(line_ends)
        .join(booking_lines, booking_lines.c.id == line_ends.c.booking_line_id)
        .where(line_ends.c.key == key, booking_lines.c.booking_number == number)
        .order_by(line_ends.c.seq)
    ).all()
    for row in rows:
        if row.new_line_id is not None:
            end_line(act, row.new_line_id, LEFT_OUT, "undone")
        if row.what in ENDS:
            line = select(booking_lines).where(booking_lines.c.id == row.booking_line_id)
            hold_again(act, act.conn.execute(line).one(), key)
        end_line(act, row.booking_line_id, TAKE, "undone")
