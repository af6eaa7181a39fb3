"""A held line whose stock is past its day before collection: fresh stock of the same line for it.

What it held goes back to the case, where it counts as past when it is; the weight, the price and
the money of the line stay as they are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.errors import NotEnoughFree, WrongState
from collop.measures import Weight
from collop.shop.acts import Act
from collop.shop.booking import note_event
from collop.shop.hook import load_booking
from collop.shop.ledger import Pick, free_lots, held_by, move
from collop.shop.model import Booking, BookingLine
from collop.shop.picking import pick
from collop.shop.pickup_choices import line_of
from collop.shop.quotes import number_in
from collop.shop.releasing import RENEWED, line_rows
from collop.shop.store import AnyRow
from collop.shop.tables import lots
from collop.shop.works import booked_row

__all__ = ["RENEW", "Renewal", "load_renewals", "renew"]

RENEW = "renew"


@dataclass(frozen=True, slots=True)
class Renewal:
    """What of a line does not keep until it is collected, and the fresh stock there is for it.

    `weight` is what does not keep, of the lots `old`, the first of them to be used by `use_by`.
    `fresh` are the lots it would come from; empty if there is not enough, or if what was worked on
    is among it.
    """

    line_id: str
    name: str
    weight: Weight
    old: tuple[str, ...]
    use_by: date
    fresh: tuple[str, ...]
    words: str


def _good_on(booking: Booking, today: date) -> date:
    """Return the day up to which stock must keep: that of collection, or today if that is over."""
    return max(today, booking.collect_at.date())


def _stale(conn: Connection, row: AnyRow, day: date) -> tuple[list[Pick], dict[str, AnyRow]]:
    """Return what a line holds that does not keep until `day`, and the rows of its lots."""
    picks = held_by(conn, row.id)
    found = conn.execute(
        select(lots.c.id, lots.c.case_id, lots.c.use_by).where(
            lots.c.id.in_([one.lot_id for one in picks]), lots.c.use_by < day
        )
    )
    rows = {one.id: one for one in found}
    return [one for one in picks if one.lot_id in rows], rows


def _fresh(conn: Connection, case_id: str, day: date, stale: Sequence[Pick]) -> list[str]:
    """Return the lots that make up for `stale`; empty if they do not."""
    free = free_lots(conn, case_id, day)
    if stale[0].piece_id is not None:
        left = [piece for lot in free for piece in lot.pieces]
        found = []
        for one in stale:
            match = next((piece for piece in left if piece.count == one.count), None)
            if match is None:
                return []
            left.remove(match)
            found.append(match.lot_id)
        return list(dict.fromkeys(found))
    missing, found = sum(one.count for one in stale), []
    for lot in free:
        if missing > 0:
            found.append(lot.id)
            missing -= lot.count
    return [] if missing > 0 else found


def _words(line: BookingLine, told: tuple[Weight, date], fresh: Sequence[str], *,
           is_worked: bool) -> str:  # fmt: skip
    weight, use_by = told
    what = f"{line.name}: {weight.text()} of it is to be used by {use_by:%a %-d %b}"
    if is_worked:
        return f"{what}, and it was worked on for this booking: swap it, or leave it out."
    if not fresh:
        return f"{what}, and not enough that keeps longer is free yet."
    return (
        f"{what}. Made anew? Take the fresh {weight.text()} at the same price, lot"
        f" {', '.join(fresh)}."
    )


def load_renewals(conn: Connection, booking: Booking, today: date) -> tuple[Renewal, ...]:
    """Return the lines of a booking that do not keep until collection, with what is fresh.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    booking : Booking
        As it is now; one that has gone or is off has none.
    today : date
        Shop-local.
    """
    if not booking.state.holds:
        return ()
    day, found = _good_on(booking, today), []
    rows = {row.position: row for row in line_rows(conn, number_in("H", booking.id, "booking"))}
    for line in booking.standing:
        row = rows[int(line.id.rpartition("-")[2])]
        stale, old = _stale(conn, row, day)
        if not stale:
            continue
        is_worked = any(one.case_id != row.case_id for one in old.values())
        fresh = [] if is_worked else _fresh(conn, row.case_id, day, stale)
        weight = Weight(sum(one.count for one in stale), line.weight.unit)
        use_by = min(one.use_by for one in old.values())
        words = _words(line, (weight, use_by), fresh, is_worked=is_worked)
        found.append(Renewal(line.id, line.name, weight, tuple(old), use_by, tuple(fresh), words))
    return tuple(found)


def renew(act: Act, line_id: str) -> str:
    """Give a line fresh stock for what does not keep until collection; return the line's id.

    Raises
    ------
    NotFound
        If there is no such line.
    WrongState
        If its booking does not hold any more, the line is off, all of it keeps, or it was worked
        on for this booking.
    NotEnoughFree
        If less is free that keeps until then; nothing is changed.
    """
    booked = booked_row(act.conn, line_id)
    booking = load_booking(act.conn, booked.number, act.settings)
    line = line_of(booking, booked.name)
    day = _good_on(booking, act.at.date())
    stale, old = _stale(act.conn, booked.row, day)
    if not stale:
        raise WrongState(f"{line.name} keeps until {day:%a %-d %b}; there is nothing to renew.")
    if any(one.case_id != booked.row.case_id for one in old.values()):
        raise WrongState(
            f"{line.name} was worked on for this booking, and is not made up from other stock:"
            " swap it, or leave it out."
        )
    unit = line.weight.unit
    weight = Weight(sum(one.count for one in stale), unit)
    pieces = tuple(Weight(one.count, unit) for one in stale if one.piece_id is not None) or None
    try:
        fresh = pick(act, booked.row.case_id, weight, pieces, keeps_until=day)
    except NotEnoughFree as short:
        raise NotEnoughFree(
            f"{line.name}: {weight.text()} that keeps until {day:%a %-d %b} is asked. {short}",
            where=line.id,
        ) from None
    move(act, stale, ("booked", "case"), RENEWED, booked.row.id)
    move(act, fresh, ("case", "booked"), RENEWED, booked.row.id)
    taken = ", ".join(dict.fromkeys(one.lot_id for one in fresh))
    said = f"{line.name}: {weight.text()} of lot {taken} for {', '.join(old)}; weigh it again"
    note_event(act, booked.number, RENEW, booking.state, said)
    return line.id
