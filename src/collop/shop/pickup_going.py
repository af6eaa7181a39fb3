"""Why a booking cannot be handed over yet: weight still to come, or nothing packed for it."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy.engine import Connection

from collop.errors import WrongState
from collop.measures import Weight
from collop.shop.acts import Act
from collop.shop.bench_wants import load_wants, note_want
from collop.shop.booking import note_event
from collop.shop.hook import load_booking
from collop.shop.model import Booking, Settings

__all__ = ["Hindrance", "go_without", "hindrance"]


@dataclass(frozen=True, slots=True)
class Hindrance:
    """Why a booking cannot go yet: `words` is one sentence, `do` is set aside or pack."""

    words: str
    do: str


def hindrance(conn: Connection, booking: Booking, chosen: Settings) -> Hindrance | None:
    """Return why a booking that holds cannot be handed over yet, None if it can.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    booking : Booking
        As it stands now.
    chosen : Settings
        Of the shop.
    """
    if not booking.state.holds:
        return None
    to_come = [
        f"{one.left.text()} of {one.case_name}"
        for one in load_wants(conn, chosen)
        if one.booking_id == booking.id and one.left
    ]
    if to_come:
        words = f"{booking.id} is not all there: {', '.join(to_come)} still to come."
        return Hindrance(
            f"{words} Set it aside, or go without it, before it is handed over.", "set aside"
        )
    if booking.agreed is not None:
        return Hindrance(f"{booking.id} is a freezer order that is not packed yet. Pack it before"
                         " it is handed over.", "pack")  # fmt: skip
    if not booking.lines:
        return Hindrance(f"Nothing hangs on {booking.id} yet, so there is nothing to hand over."
                         " Pack it first.", "pack")  # fmt: skip
    return None


def go_without(act: Act, number: int) -> None:
    """Take back all that is still to come for a booking: its customer goes without it.

    What is reserved stays as it is.

    Raises
    ------
    WrongState
        If nothing is to come for it, or it does not hold any more.
    """
    booking = load_booking(act.conn, number, act.settings)
    wanted = [one for one in load_wants(act.conn, act.settings)
              if one.booking_id == booking.id and one.left]  # fmt: skip
    if not wanted:
        raise WrongState(f"Nothing is still to come for {booking.id}; look at it again.")
    for one in wanted:
        note_want(act, number, one.case_id, Weight.zero(one.weight.unit), one.note)
    said = ", ".join(f"{one.left.text()} of {one.case_name}" for one in wanted)
    note_event(act, number, "without", booking.state, said)
