"""An allergen told after the booking: its lines are found and stopped, and who called is kept."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from datetime import date
from fractions import Fraction

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, WrongState
from collop.measures import Weight, WeightUnit, decimal_of, sum_money
from collop.reference import allergen_named
from collop.shop.acts import Act
from collop.shop.booking import note_event
from collop.shop.case import load_case
from collop.shop.hook import booking_id, load_booking
from collop.shop.model import Booking, BookingLine, CaseLine
from collop.shop.pickup_choices import LEFT_OUT, STOP, end_line
from collop.shop.pickup_model import Stopped
from collop.shop.pickup_reading import meat_left
from collop.shop.pickup_stand_ins import made_of
from collop.shop.pickup_words import HUNGRY, LIGHT
from collop.shop.releasing import line_rows
from collop.shop.tables import booking_events, booking_lines
from collop.shop.week_tables import line_ends
from collop.shop.works_model import Work
from collop.spread.contents import avoid_tags
from collop.spread.problem import DISH_STYLES

__all__ = ["allergen_of", "holding", "stop", "stopped_lines", "stopped_of"]

_LONGEST = 200


def allergen_of(text: str) -> str:
    """Return the name an allergen is kept under, or raise `BadValue` naming the known ones."""
    name = allergen_named(text.strip()) if text.strip() else None
    if name is None:
        avoid_tags([f"allergen:{text.strip() or '?'}"])  # raises, and names the known ones
        raise BadValue(f"{text[:40]!r} is no allergen known here.", where="allergen")
    return str(name)


def holding(case: Sequence[CaseLine], booking: Booking, allergen: str) -> tuple[BookingLine, ...]:
    """Return the standing lines of a booking that hold an allergen, at any depth of a batch."""
    wanted = avoid_tags([f"allergen:{allergen_of(allergen)}"])
    with_it = {one.id for one in case if made_of(one) & wanted}
    return tuple(
        line for line in booking.standing
        if line.case_id in with_it or any(case_id in with_it for case_id, _ in line.held_as)
    )  # fmt: skip


def stop(act: Act, number: int, allergen: str, told: str) -> int:
    """Take every line with an allergen off a booking, and keep who took the call; return `number`.

    Raises
    ------
    BadValue
        If the allergen is not known, or nobody said who told it.
    WrongState
        If the booking has gone or is off.
    """
    name = allergen_of(allergen)
    if not told.strip():
        raise BadValue("Write who called, or how it was told.", where="told")
    booking = load_booking(act.conn, number, act.settings)
    if not booking.state.holds:
        raise WrongState(f"{booking.id} is {booking.state}; call whoever has it.")
    found = holding(load_case(act.conn, act.at, act.settings), booking, name)
    rows = {row.position: row.id for row in line_rows(act.conn, number)}
    for line in found:
        place = int(line.id.rpartition("-")[2])
        end_line(act, rows[place], LEFT_OUT, f"{name}: {told}")
    said = ", ".join(f"{one.weight.text()} of {one.name} off, {one.line_total}" for one in found)
    by = f"; told by {told.strip()[: _LONGEST // 2]}"
    why = f"{name}: {said or 'no line holds it'}"
    # who called is kept whole, however many lines came off
    note_event(act, number, STOP, booking.state, why[: _LONGEST - len(by)] + by)
    return number


def stopped_lines(conn: Connection, number: int) -> dict[str, set[str]]:
    """Return the ids of the lines that calls took off a booking, by allergen.

    A line that was swapped or left out before the call was not taken off by it.
    """
    rows = conn.execute(
        select(booking_events.c.why, booking_lines.c.position)
        .join(line_ends, line_ends.c.key == booking_events.c.key)
        .join(booking_lines, booking_lines.c.id == line_ends.c.booking_line_id)
        .where(booking_events.c.booking_number == number, booking_events.c.what == STOP,
               booking_lines.c.booking_number == number)
    )  # fmt: skip
    found: dict[str, set[str]] = defaultdict(set)
    for row in rows:
        found[row.why.partition(":")[0]].add(f"{booking_id(number)}-{row.position}")
    return found


def stopped_of(
    booking: Booking, case: Sequence[CaseLine], allergen: str, *, ended: Collection[str],
    work: Sequence[Work] = (), since: Mapping[str, date] | None = None,
) -> Stopped:  # fmt: skip
    """Return what calls about an allergen took off a booking.

    Parameters
    ----------
    booking : Booking
        As it is now.
    case : sequence of CaseLine
        The case as it is now.
    allergen : str
        What was told.
    ended : collection of str
        Ids of the lines that such calls took off, as `stopped_lines` has them.
    work : sequence of Work
        What was done on its lines.
    since : mapping of str to date, optional
        Since when each lot is there.
    """
    name = allergen_of(allergen)
    event = next(one for one in reversed(booking.events)
                 if one.what == STOP and one.why.startswith(f"{name}:"))  # fmt: skip
    off = tuple(line for line in booking.lines if line.off and line.id in ended)
    mine = tuple(one for one in work if one.line_id in {line.id for line in off})
    left = meat_left(case, booking)
    return Stopped(
        booking=booking, allergen=name, lines=off,
        weight=Weight(sum(line.weight.count for line in off), WeightUnit.LB),
        money=sum_money((line.line_total for line in off), booking.deposit.currency),
        left=Weight.of(decimal_of(left, 3), WeightUnit.LB), work=mine, at=event.at, by=event.by,
        words=_words(booking, off, left, name=name, since=since or {}),
    )  # fmt: skip


def _words(
    booking: Booking, off: Sequence[BookingLine], left: Fraction, *, name: str,
    since: Mapping[str, date],
) -> tuple[str, ...]:  # fmt: skip
    pounds = decimal_of(left, 1)
    words = []
    if booking.heads:
        usual = DISH_STYLES["plate"][0] * booking.heads / 16
        needs = [decimal_of(one, 1) for one in (usual / LIGHT, usual, usual / HUNGRY)]
        words.append(
            f"{pounds} lb of boneless meat stays; {booking.heads} eaters need {needs[0]} lb"
            f" (light), {needs[1]} lb (usual) or {needs[2]} lb (hungry)."
        )
    words += [
        f"Take {line.name} off the bench list, off its tray, and take back any label of it."
        for line in off
    ]
    for lot in dict.fromkeys(lot for line in off for lot in line.lots if lot in since):
        words.append(
            f"Lot {lot} was made up in this room, and is here since {since[lot]:%a %d %b}."
        )
    words.append(
        f"{name.capitalize()} is worked with in this room: nothing here says that the rest of the"
        " order never met it. Say so to whoever called."
    )
    return tuple(words)
