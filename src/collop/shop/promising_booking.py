"""Booking for a date: what is there is reserved, the rest is wanted, all of it or nothing.

What is reserved is good on the day of collection: a lot whose last day comes before is not taken.
What comes in later is set aside for the bookings that want it, those collected soonest first.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, time

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.errors import NotEnoughFree
from collop.measures import Weight
from collop.shop.acts import Act, Room, once
from collop.shop.bench_model import Want
from collop.shop.bench_wants import load_wants, note_want
from collop.shop.booking import Terms, begin_booking, note_event, put_down
from collop.shop.hook import booking_id, load_booking
from collop.shop.ledger import Pick
from collop.shop.lines import HeldPrice, at_board
from collop.shop.lots import at_place
from collop.shop.model import Booking, NewBooking, NewLine
from collop.shop.picking import pick, piece_text
from collop.shop.promising_coming import coming_in
from collop.shop.promising_flow import most_for, serve
from collop.shop.promising_model import Coming, SetAside, Waiting
from collop.shop.promising_money import promised_price
from collop.shop.promising_outlook import Outlook, load_outlook, on_hand
from collop.shop.promising_words import answer_for, cut_off
from collop.shop.quotes import number_in
from collop.shop.settings import load_settings
from collop.shop.tables import booking_events

__all__ = [
    "PROMISED", "book_for", "must_still_come", "promise", "set_aside", "waiting_now",
    "would_take",
]  # fmt: skip

_IN_CASE = ("case", "thaw")
_SET_ASIDE = "set aside"
#: Note of a want that was promised; others are wishes of which nobody knows whether they come.
PROMISED = "promised"


@dataclass(frozen=True, slots=True)
class Promised:
    """What of a line was reserved, and what is to come, in counts."""

    reserved: int
    to_come: int


def _look(
    act: Act, at: time, coming: dict[str, list[Coming]], *, with_due: bool = True
) -> Outlook:  # fmt: skip
    return load_outlook(act.conn, act.at, act.settings, until=at, coming=coming, with_due=with_due)


def promise(
    act: Act, number: int, line: NewLine, coming: dict[str, list[Coming]],
    held: Sequence[HeldPrice] = (), *, with_due: bool = True,
) -> Promised:  # fmt: skip
    """Promise one line to a booking within an act.

    Parameters
    ----------
    act : Act
        The writing act.
    number : int
        Of the booking.
    line : NewLine
        Checked.
    coming : dict
        What `coming_in` gave in this act.
    held : sequence of HeldPrice
        Prices held for the customer.
    with_due : bool
        Whether what standing orders are due is held for them; not so for their own bookings.

    Raises
    ------
    NotEnoughFree
        If less may be promised for the day of collection; the message is the answer to say.
    NotFound, BadValue
        If there is no such line, or its pieces make up no such weight.
    """
    booking = load_booking(act.conn, number, act.settings)
    day = booking.collect_at.date()
    look = _look(act, booking.collect_at.time(), coming, with_due=with_due)
    (board,) = at_board(act, [line])
    if look.most(line.case_id, day) < line.weight.count:
        answer = answer_for(look, line.case_id, day, line.weight)
        raise NotEnoughFree(answer.say, where=line.case_id)
    if look.line(line.case_id).by_piece:
        picks = _pieces_for(act, look, line, booking)
        put_down(act, number, board, picks, held)
        return Promised(sum(one.count for one in picks), 0)
    demands = [*look.demands(line.case_id), (day, line.weight.count)]
    shares = serve(look.supplies(line.case_id), demands)[-1]
    picks = _picks(act.conn, [(one, count) for one, count in shares if one.part in _IN_CASE])
    if picks:
        put_down(act, number, board, picks, held)
    to_come = line.weight.count - sum(one.count for one in picks)
    if to_come:
        _want_more(act, number, line, to_come)
    return Promised(line.weight.count - to_come, to_come)


def _pieces_for(act: Act, look: Outlook, line: NewLine, booking: Booking) -> list[Pick]:
    """Return whole pieces that may be handed over on the day of collection, oldest first.

    Raises
    ------
    BadValue, NotEnoughFree
        If no such pieces make up the weight.
    """
    day = booking.collect_at.date()
    left = [one for one in look.supplies(line.case_id) if one.is_there(day)]
    taken: list[Coming] = []
    if line.pieces is None:
        while left and sum(one.count for one in taken) < line.weight.count:
            taken.append(left.pop(0))
    for piece in line.pieces or ():
        text = piece_text(piece)
        found = next((one for one in left if piece_text(Weight(one.count)) == text), None)
        if found is not None:
            left.remove(found)
            taken.append(found)
    # what does not match is refused in the words of a plain booking
    picks = pick(replace(act, at=booking.collect_at), line.case_id, line.weight, line.pieces)
    if sum(one.count for one in taken) != sum(one.count for one in picks):
        raise NotEnoughFree(answer_for(look, line.case_id, day, line.weight).say,
                            where=line.case_id)  # fmt: skip
    return _whole_picks(act.conn, [(one, one.count) for one in taken])


def _want_more(act: Act, number: int, line: NewLine, count: int) -> None:
    """Write what is to come of a line, on top of what the booking wants of it already."""
    name = booking_id(number)
    before = sum(
        one.left.count for one in load_wants(act.conn, act.settings)
        if one.booking_id == name and one.case_id == line.case_id
    )  # fmt: skip
    note_want(act, number, line.case_id, Weight(before + count, line.weight.unit), PROMISED)


def must_still_come(act: Act, number: int) -> None:
    """See that what a booking put back on the hook was promised still comes, and for it.

    What was only wanted, and never promised, may be wanted again.

    Raises
    ------
    NotEnoughFree
        If it has been promised to somebody else since, or comes no more.
    """
    name, today = booking_id(number), act.at.date()
    wants = [one for one in load_wants(act.conn, act.settings)
             if one.booking_id == name and one.left and one.note == PROMISED]  # fmt: skip
    if not wants:
        return
    coming = coming_in(act.conn, act.at, act.settings)
    # what was promised before goes before what a standing order will ask
    look = _look(act, wants[0].collect_at.time(), coming, with_due=False)
    for want in wants:
        day, needed = max(today, want.collect_at.date()), want.left
        others = list(look.demands(want.case_id))
        others.remove((day, needed.count))
        supplies = look.supplies(want.case_id)
        if most_for(supplies, others, day) < needed.count:
            raise NotEnoughFree(
                f"{needed.text(act.settings.legal_unit)} of {want.case_name} was still to come and"
                f" may not be promised again for {day:%A}; book anew what is there.",
                where=want.case_id,
            )


def _book_for(act: Act, new: NewBooking, terms: Terms) -> str:
    begun = begin_booking(act, new, terms)
    coming = coming_in(act.conn, act.at, act.settings)
    for line in begun.lines:
        promise(act, begun.number, line, coming, begun.held)
    return booking_id(begun.number)


def book_for(
    room: Room, new: NewBooking, *, key: str, quote_id: str | None = None,
    accept_new_price: bool = False,
) -> Booking:  # fmt: skip
    """Book an order for its date, all of it or nothing.

    Of each line is reserved what lies in the case and is good on the day of collection; what comes
    by the plan or from the rail by then is written as wanted by the booking, at the price of now.

    Raises
    ------
    NotEnoughFree
        If less may be promised; the message says what may, the nearest day, and a like line.
    QuoteLapsed, BadValue, NotFound
        As for `collop.shop.booking.book`.
    """
    terms = Terms(quote_id, accept_new_price)

    def work(act: Act) -> str:
        return _book_for(act, new, terms)

    answer = once(room, "book for", [new, terms], by=new.by, key=key, work=work)
    with room.store.read() as conn:
        return load_booking(conn, number_in("H", answer, "booking"), load_settings(conn))


def _matches(
    wants: Sequence[Want], there: dict[str, list[Coming]], by_piece: frozenset[str], today: date
) -> list[tuple[Want, list[tuple[Coming, int]]]]:
    """Return what of the case goes to which want, the soonest collected first.

    Oldest first, never past its last day when it is collected, nor frozen that is not thawed by
    then; a piece sold whole goes whole. What was not collected counts for today.
    """
    left = {case_id: [one.count for one in found] for case_id, found in there.items()}
    found = []
    for want in wants:
        day, needed, taken = max(today, want.collect_at.date()), want.left.count, []
        rest = left.get(want.case_id, [])
        for at, one in enumerate(there.get(want.case_id, ())):
            part = min(needed, rest[at])
            if want.case_id in by_piece and part < rest[at]:
                part = 0
            if part and one.is_there(day):
                taken.append((one, part))
                rest[at] -= part
                needed -= part
        if taken:
            found.append((want, taken))
    return found


def _waiting(
    conn: Connection, look: Outlook, case_id: str | None
) -> list[tuple[Want, list[tuple[Coming, int]]]]:
    wants = [
        one
        for one in load_wants(conn, look.chosen)
        if one.left and one.case_id in look.lines and case_id in {None, one.case_id}
    ]
    by_piece = frozenset(one.case_id for one in wants if look.lines[one.case_id].by_piece)
    there = on_hand(conn, look.now, look.chosen.closes, {one.case_id for one in wants})
    return _matches(wants, there, by_piece, look.now.date())


def waiting_now(conn: Connection, look: Outlook) -> tuple[Waiting, ...]:
    """Return what lies in the case unpromised and is wanted by a booking, soonest first."""
    return tuple(
        Waiting(
            want.booking_id, want.name, want.case_id, want.case_name,
            Weight(sum(count for _, count in taken), look.chosen.legal_unit), want.left,
            want.collect_at,
        )
        for want, taken in _waiting(conn, look, case_id=None)
    )  # fmt: skip


def would_take(
    conn: Connection, look: Outlook, lines: Iterable[tuple[str, Weight]]
) -> tuple[str, ...]:  # fmt: skip
    """Return a sentence for each order that waits for what such lines would take out of the case.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    look : Outlook
        The shop.
    lines : iterable of (str, Weight)
        Line and weight that would leave the free stock.
    """
    left = {case_id: sum(one.count for one in found) for case_id, found in look.there.items()}
    taken = set()
    for case_id, weight in lines:
        taken.add(case_id)
        left[case_id] = left.get(case_id, 0) - weight.count
    said = []
    for one in waiting_now(conn, look) if taken else ():
        if one.case_id not in taken:
            continue
        stays = max(0, left[one.case_id])
        left[one.case_id] -= one.weight.count
        if stays < one.weight.count:
            rest = f"only {cut_off(Weight(stays), look.chosen)}" if stays else "none"
            said.append(
                f"{one.booking_id} {one.name} waits for {one.weight.text(look.chosen.legal_unit)}"
                f" of {one.case_name}, and {rest} of it would be left: set it aside first."
            )
    return tuple(said)


def _picks(conn: Connection, parts: Sequence[tuple[Coming, int]]) -> list[Pick]:
    """Return picks out of lots in the case, by weight."""
    return [
        replace(at_place(conn, one.ref, "case")[0], count=count, piece_id=None)
        for one, count in parts
    ]


def _whole_picks(conn: Connection, parts: Sequence[tuple[Coming, int]]) -> list[Pick]:
    """Return picks of whole pieces: those of a lot that weigh as much and lie in the case."""
    used: set[int | None] = set()
    picks = []
    for one, count in parts:
        piece = next(found for found in at_place(conn, one.ref, "case")
                     if found.count == count and found.piece_id not in used)  # fmt: skip
        used.add(piece.piece_id)
        picks.append(piece)
    return picks


def _set_aside_one(act: Act, want: Want, parts: Sequence[tuple[Coming, int]], *,
                   by_piece: bool) -> None:  # fmt: skip
    number = number_in("H", want.booking_id, "booking")
    unit = want.left.unit
    count = sum(part for _, part in parts)
    picks = _whole_picks(act.conn, parts) if by_piece else _picks(act.conn, parts)
    weight = Weight(count, unit)
    whole = tuple(Weight(one.count, unit) for one in picks) if by_piece else None
    (board,) = at_board(act, [NewLine(want.case_id, weight, whole)])
    price = promised_price(act.conn, want, act.settings)
    held = [] if price is None else [HeldPrice(want.case_id, price, count)]
    put_down(act, number, board, picks, held)
    # the newest row counts: what is left to come, so that nothing is set aside twice
    note_want(act, number, want.case_id, want.left - weight, want.note)
    state = load_booking(act.conn, number, act.settings).state
    note_event(act, number, _SET_ASIDE, state, f"{weight.text()} of {want.case_name}")


def set_aside(
    room: Room, *, by: str, key: str, case_id: str | None = None
) -> tuple[SetAside, ...]:  # fmt: skip
    """Reserve what lies in the case for the bookings that want it, soonest collected first.

    Never more than is wanted, and never a lot whose last day comes before the collection. Its price
    is the board's of the moment it was promised.

    Parameters
    ----------
    room : Room
        Database and clock.
    by, key : str
        Person and idempotency key.
    case_id : str, optional
        Of one line alone.

    Returns
    -------
    tuple of SetAside
        One for each booking and line; empty if nothing was there for anybody.
    """

    def work(act: Act) -> str:
        look = load_outlook(act.conn, act.at, act.settings, coming={})
        for want, parts in _waiting(act.conn, look, case_id):
            _set_aside_one(act, want, parts, by_piece=bool(look.lines[want.case_id].by_piece))
        return _SET_ASIDE

    once(room, _SET_ASIDE, case_id, by=by, key=key, work=work)
    event = booking_events.c
    with room.store.read() as conn:
        rows = conn.execute(
            select(event.booking_number, event.why)
            .where(event.key == key, event.what == _SET_ASIDE).order_by(event.seq)
        )  # fmt: skip
        return tuple(SetAside(booking_id(row.booking_number), row.why) for row in rows)
