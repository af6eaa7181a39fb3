"""The paper set as a service: printed at opening, keyed back when the power is there again."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from collop.errors import BadValue
from collop.shop.acts import Room, all_people
from collop.shop.bench_list_lines import cares_of
from collop.shop.board import board_lines
from collop.shop.case import load_case
from collop.shop.day_cold import hours_of
from collop.shop.day_places import load_places, rounds_of, steps_of
from collop.shop.hook import bookings_between
from collop.shop.late_writing import bench_now, key_back, late_acts_of, late_between
from collop.shop.papers_model import KINDS, PaperBooking, PaperDay, checked_kind
from collop.shop.pickup_money import money_now
from collop.shop.quotes import number_in
from collop.shop.settings import load_settings

if TYPE_CHECKING:
    from sqlalchemy.engine import Connection

    from collop.shop.late_model import KeyedBack, LateAct, LateRow
    from collop.shop.model import Booking, CaseLine, Settings

__all__ = ["PapersRoom"]

_AHEAD = timedelta(days=31)


class PapersRoom:
    """The paper set. Reached as `Shop.papers`. Safe to share between threads.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room

    def day(self, day: date | None = None) -> PaperDay:
        """Return what stands on the papers of a day, by default today.

        Raises
        ------
        BadValue
            If the day is over, or over a month ahead.
        """
        now = self._room.clock.now()
        day = day or now.date()
        if not now.date() <= day <= now.date() + _AHEAD:
            raise BadValue(f"Papers are printed for today and up to {_AHEAD.days} days ahead, not "
                           f"for {day}.", where="day")  # fmt: skip
        with self._room.store.read() as conn:
            return _read(conn, day, now)

    def set(
        self, day: date | None = None, *, kinds: Sequence[str] = tuple(KINDS), paper: str = "letter"
    ) -> bytes:
        """Return the paper set of a day, or some of its sheets, as a PDF file.

        Parameters
        ----------
        day : date, optional
            By default today.
        kinds : sequence of str
            Of ``bench, board, bookings, cold, orders, sales``; a sheet alone keeps its number.
        paper : str
            ``letter`` or ``a4``.

        Raises
        ------
        BadValue
            If the day, a sheet or the paper is none.
        """
        from collop.shop.papers_sheets import papers_pdf  # noqa: PLC0415 -- heavy, seldom wanted

        if not kinds:
            raise BadValue("Choose a sheet to print.", where="sheet")
        wanted = [checked_kind(kind) for kind in kinds]
        return papers_pdf(self.day(day), wanted, paper)

    def key_back(self, sheet: str, rows: Sequence[LateRow], *, by: str) -> KeyedBack:
        """Write what stands on a sheet, all rows or none; see `late_writing.key_back`."""
        return key_back(self._room, [(sheet, rows)], by=by)[0]

    def key_back_all(
        self, sheets: Sequence[tuple[str, Sequence[LateRow]]], *, by: str
    ) -> tuple[KeyedBack, ...]:
        """Write what stands on several sheets, all rows or none."""
        return key_back(self._room, sheets, by=by)

    def late(self, first: date, last: date) -> tuple[LateAct, ...]:
        """Return what was done on paper from `first` to `last`, both included."""
        with self._room.store.read() as conn:
            return late_between(conn, first, last)

    def late_of(self, booking_id: str) -> tuple[LateAct, ...]:
        """Return what of a booking was done on paper before it was written."""
        number = number_in("H", booking_id, "booking")
        with self._room.store.read() as conn:
            return late_acts_of(conn, number)


def _read(conn: Connection, day: date, now: datetime) -> PaperDay:
    chosen = load_settings(conn)
    opens = datetime.combine(day, chosen.opens)
    case = {line.id: line for line in load_case(conn, now, chosen)}
    found = bookings_between(conn, day, day, chosen)
    return PaperDay(
        day=day, at=now, chosen=chosen, bench=bench_now(conn, now, chosen),
        board=board_lines(conn, max(now, opens), chosen), case=case,
        bookings=tuple(_booked(conn, one, case, chosen) for one in found if one.state.holds),
        places=tuple(load_places(conn).read_now()), rounds=hours_of(rounds_of(conn, chosen), day),
        steps=steps_of(conn)[0],
        names={person.id: person.name for person in all_people(conn)},
    )  # fmt: skip


def _booked(
    conn: Connection, booking: Booking, case: dict[str, CaseLine], chosen: Settings
) -> PaperBooking:
    cares = {}
    for line in booking.standing:
        contains = case[line.case_id].contains if line.case_id in case else ()
        cares[line.id] = tuple(f"{line.name}: {one}" if "allergy: this holds" in one else one
                               for one in cares_of(booking, map(str, contains)))  # fmt: skip
    if not booking.standing:
        cares[""] = cares_of(booking, ())
    money = money_now(conn, booking, chosen, booking.collect_at.date())
    return PaperBooking(booking, cares, money.now)
