"""From the hook to the customer: states, release, hand-over, and undo within the hour."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import timedelta
from fractions import Fraction

from sqlalchemy import select

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import Money, Weight
from collop.shop.acts import Act, Room, once
from collop.shop.booking import note_event
from collop.shop.hook import booking_id, load_booking, load_slip
from collop.shop.ledger import Pick, find_more, held_by, move
from collop.shop.lines import priced_of
from collop.shop.model import Booking, BookingLine, Slip, State
from collop.shop.picking import PIECE_TOLERANCE, pick
from collop.shop.pickup_choices import CHOICES, Chosen, choose, undo_choice
from collop.shop.pickup_going import hindrance
from collop.shop.promising_booking import must_still_come
from collop.shop.quotes import number_in
from collop.shop.releasing import hold_again, line_rows, release_lines
from collop.shop.settings import load_settings
from collop.shop.store import AnyRow
from collop.shop.tables import booking_events
from collop.shop.till import keep_slip, totals_of
from collop.shop.works_reading import line_states

__all__ = ["change_state", "hand_over", "hand_over_in", "release", "undo"]

_ORDER = (State.ASKED, State.BOOKED, State.CUT, State.PACKED)
_UNDO_WITHIN = timedelta(hours=1)


def _on_booking(
    room: Room, kind: str, name: str, request: object, *, by: str, key: str,
    work: Callable[[Act, Booking], None],
) -> int:  # fmt: skip
    number = number_in("H", name, "booking")

    def done(act: Act) -> str:
        work(act, load_booking(act.conn, number, act.settings))
        return booking_id(number)

    once(room, kind, [number, request], by=by, key=key, work=done)
    return number


def _read_back(room: Room, number: int) -> Booking:
    with room.store.read() as conn:
        return load_booking(conn, number, load_settings(conn))


def _number(booking: Booking) -> int:
    return number_in("H", booking.id, "booking")


def change_state(room: Room, name: str, state: State | str, *, by: str, key: str) -> Booking:
    """Move a booking forward: asked, booked, cut, packed.

    Raises
    ------
    BadValue
        If there is no such state.
    WrongState
        If the booking has come further, or the state is reached by hand-over or release.
    """
    try:
        wanted = State(state)
    except ValueError:
        known = ", ".join(State)
        raise BadValue(f"{state!r} is no state; use one of {known}.", where="state") from None

    def work(act: Act, booking: Booking) -> None:
        if wanted not in _ORDER:
            way = "hand it over" if wanted is State.GONE else "release it"
            raise WrongState(f"{booking.id} cannot be set to {wanted}; {way} instead.")
        if booking.state not in _ORDER or _ORDER.index(booking.state) >= _ORDER.index(wanted):
            raise WrongState(f"{booking.id} is {booking.state}, so it cannot become {wanted}.")
        note_event(act, _number(booking), "state", wanted)

    return _read_back(room, _on_booking(room, "state", name, wanted, by=by, key=key, work=work))


def release(room: Room, name: str, *, by: str, key: str, why: str) -> Booking:
    """Take a booking off; all its weight is free again, exactly.

    Raises
    ------
    WrongState
        If it has gone or is off already.
    BadValue
        If no reason is given.
    """
    if not why.strip():
        raise BadValue("Say why the booking is taken off; a word or two will do.", where="why")

    def work(act: Act, booking: Booking) -> None:
        if not booking.state.holds:
            raise WrongState(f"{booking.id} is {booking.state}; there is nothing to release.")
        release_lines(act, _number(booking))
        note_event(act, _number(booking), "release", State.OFF, why)

    return _read_back(room, _on_booking(room, "release", name, why, by=by, key=key, work=work))


def _last_key(act: Act, number: int, what: str) -> str:
    """Return the key of the act in which something last happened to a booking."""
    found = act.conn.scalar(
        select(booking_events.c.key)
        .where(booking_events.c.booking_number == number, booking_events.c.what == what)
        .order_by(booking_events.c.seq.desc())
    )
    assert found is not None
    return str(found)


def _put_back(act: Act, booking: Booking) -> None:
    """Promise again what the last release gave back: the same lots, as far as they are there."""
    key = _last_key(act, _number(booking), booking.events[-1].what)
    for row in line_rows(act.conn, _number(booking)):
        hold_again(act, row, key)


def _undo(act: Act, booking: Booking) -> None:
    last = booking.events[-1]
    number = _number(booking)
    if act.at - last.at > _UNDO_WITHIN:
        raise WrongState(f"The last step of {booking.id} is over an hour old; correct it instead.")
    before = next((event.state for event in booking.events[-2::-1] if event.state.holds), None)
    if last.state is State.OFF:
        assert before is not None
        _put_back(act, booking)
        note_event(act, number, "put back", before)
        must_still_come(act, number)
    elif last.what in {"book", "put back"}:
        release_lines(act, number)
        note_event(act, number, "undo", State.OFF)
    elif last.what in CHOICES:
        undo_choice(act, number, _last_key(act, number, last.what))
        note_event(act, number, "undo", last.state)
    elif last.what == "state" and before is not None:
        note_event(act, number, "undo", before)
    else:
        raise WrongState(
            f"The last step of {booking.id} ({last.what}) cannot be undone; correct it instead."
        )


def undo(room: Room, name: str, *, by: str, key: str) -> Booking:
    """Undo the last step of a booking within one hour.

    What was just booked is released; what was just released is promised again if it is still
    free; a state goes back by one.

    Raises
    ------
    WrongState
        If the step is over an hour old or cannot be undone.
    NotEnoughFree
        If what was released has been promised to somebody else since.
    """
    return _read_back(room, _on_booking(room, "undo", name, None, by=by, key=key, work=_undo))


def _split(picks: list[Pick], count: int) -> tuple[list[Pick], list[Pick]]:
    taken, rest = [], []
    for one in picks:
        part = min(one.count, count)
        count -= part
        taken.append(replace(one, count=part))
        rest.append(replace(one, count=one.count - part))
    return taken, rest


def _sell_weight(act: Act, row: AnyRow, picks: list[Pick], weighed: Weight) -> None:
    taken, rest = _split(picks, weighed.count)
    move(act, taken, ("booked", "sold"), "handed over", row.id)
    move(act, rest, ("booked", "case"), "not taken", row.id)
    more = weighed.count - sum(one.count for one in picks)
    if more > 0:
        extra = pick(act, row.case_id, Weight(more, weighed.unit), None)
        move(act, extra, ("case", "sold"), "handed over, more than booked", row.id)


def _sell_pieces(
    act: Act, line: BookingLine, row: AnyRow, picks: list[Pick], weighed: Weight
) -> None:
    if not weighed:
        move(act, picks, ("booked", "case"), "not taken", row.id)
        return
    there = sum(one.count for one in picks)
    gap = Fraction(weighed.count - there)
    if abs(gap) > PIECE_TOLERANCE * there:
        assert line.pieces is not None
        raise BadValue(
            f"{line.name}: {len(line.pieces)} booked at {line.held.text()} and the scale says"
            f" {weighed.text()}; weigh again, or give 0 to leave the line out.",
            where=line.id,
        )
    move(act, picks, ("booked", "sold"), "handed over", row.id)
    # pieces carry their ticket weight: what the scale says less is drip, what it says more is found
    less = there - weighed.count
    if less < 0:
        find_more(act, Pick(picks[0].lot_id, -less, picks[0].unit), "sold", row.id)
        return
    lost, _ = _split([replace(one, piece_id=None) for one in picks], less)
    move(act, lost, ("sold", "drip"), "scale against ticket", row.id)


def _sell(act: Act, line: BookingLine, row: AnyRow, weighed: Weight) -> tuple[Weight, Money]:
    """Move one line to ``sold`` at its scale weight; return what is paid for, and the money.

    What was worked on for the customer is paid for as it was bought, and goes first.
    """
    if weighed and line.use_by is not None and line.use_by < act.at.date():
        raise WrongState(
            f"{line.name} was to be used by {line.use_by}: do not hand it over; take fresh for it,"
            " or give 0 to leave the line out.",
            where=line.id,
        )
    state = line_states(act.conn, [row.id])[row.id]
    picks = sorted(held_by(act.conn, row.id), key=lambda one: one.lot_id not in state.made)
    if line.pieces is None:
        _sell_weight(act, row, picks, weighed)
    else:
        _sell_pieces(act, line, row, picks, weighed)
    paid = Weight(state.worked.paid_for(weighed.count), weighed.unit)
    price = priced_of(row, line.name, act.settings.currency).unit_price
    return paid, price.line(paid, act.settings.rounding)


def _checked_scale(booking: Booking, weighed: Mapping[str, Weight]) -> None:
    known = {line.id for line in booking.standing}
    for line_id in weighed:
        if line_id not in known:
            raise NotFound(f"{booking.id} has no line {line_id[:40]!r}.", where=line_id)
    for line in booking.standing:
        if line.id not in weighed:
            raise BadValue(
                f"{line.name} ({line.id}) is not weighed; weigh it or give 0.", where=line.id
            )
        if weighed[line.id] < Weight.zero():
            raise BadValue(f"{line.name} weighs less than nothing; tare again.", where=line.id)


def hand_over_in(act: Act, booking: Booking, weighed: Mapping[str, Weight]) -> Money:
    """Hand a booking over within an act and return its total with tax; see `hand_over`."""
    if booking.state not in _ORDER[1:]:
        first = "; set it to booked first" if booking.state is State.ASKED else ""
        raise WrongState(f"{booking.id} is {booking.state}, so it cannot be handed over{first}.")
    _checked_scale(booking, weighed)
    rows = line_rows(act.conn, _number(booking))
    sold, money = [], []
    for line, row in zip(booking.lines, rows, strict=True):
        if line.off:
            continue
        weight, total = _sell(act, line, row, weighed[line.id])
        sold.append({"booking_line_id": row.id, "weighed": weight.count,
                     "unit": weight.unit.value, "line_total": total.minor})  # fmt: skip
        money.append((line.case_id, total))
    charged = totals_of(act.conn, act.settings, money, deposit=booking.deposit, on=act.at.date())
    keep_slip(act, _number(booking), sold, charged, deposit=booking.deposit)
    note_event(act, _number(booking), "hand over", State.GONE)
    return charged.total


def _agreed(
    act: Act, booking: Booking, weighed: Mapping[str, Weight], chosen: Sequence[Chosen]
) -> tuple[Booking, Mapping[str, Weight]]:
    """Return a booking with what was agreed at the glass, and the weights of all its lines."""
    known = {line.id for line in booking.lines}
    for one in chosen:
        choose(act, one)
    after = load_booking(act.conn, _number(booking), act.settings) if chosen else booking
    off = {line.id for line in after.lines if line.off} - {
        one.id for one in booking.lines if one.off
    }
    kept = {name: weight for name, weight in weighed.items() if name not in off}
    return after, kept | {one.id: one.weight for one in after.lines if one.id not in known}


def hand_over(
    room: Room, name: str, weighed: Mapping[str, Weight], *, by: str, key: str,
    chosen: Sequence[Chosen] = (), total: Money | None = None,
) -> Slip:  # fmt: skip
    """Hand a booking over at its scale weights; money is for net weight, never for the booked.

    Bone that work took out for the customer was bought, and is paid for with its line. Lines that
    are off are not weighed. Less than booked: the rest is free again. More: the rest comes from
    free stock. Zero leaves the line out. Pieces sold whole may differ from their ticket by a
    quarter.

    Parameters
    ----------
    room : Room
        Database and clock.
    name : str
        Booking id.
    weighed : mapping of str to Weight
        Net scale weight of every line, by line id.
    by, key : str
        Person and idempotency key.
    chosen : sequence of Chosen
        What was agreed at the glass, each with its line of the case and weight: kept and handed
        over together, or nothing is.
    total : Money, optional
        The total with tax that the customer was told.

    Raises
    ------
    WrongState
        If the booking is asked, gone or off, weight is still to come for it, it is not packed, a
        line is past its use-by, or the total is not what
        the customer was told.
    NotEnoughFree
        If the scale says more than was booked and is free.
    BadValue, NotFound
        If a line is not weighed, or is no line of this booking.
    """

    def work(act: Act, booking: Booking) -> None:
        wait = hindrance(act.conn, booking, act.settings)
        if wait is not None:
            raise WrongState(wait.words)
        came = hand_over_in(act, *_agreed(act, booking, weighed, chosen))
        if total is not None and came != total:
            raise WrongState(f"{booking.id} comes to {came} now, not {total}; look at it again.")

    more = [list(chosen), total] if chosen or total is not None else []
    request = [dict(weighed), *more] if more else dict(weighed)
    number = _on_booking(room, "hand over", name, request, by=by, key=key, work=work)
    with room.store.read() as conn:
        return load_slip(conn, number, load_settings(conn))
