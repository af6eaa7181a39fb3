"""The shop as the counter sees it: every service behind one object."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from types import TracebackType
from typing import Any, Self

from collop.errors import WrongState
from collop.measures import Money, UnitPrice, Weight
from collop.shop import booking, counter
from collop.shop.acts import Room, all_people
from collop.shop.balance import faults
from collop.shop.board import board_changes
from collop.shop.board_guard import put_on_board
from collop.shop.case import board_value, load_case
from collop.shop.damage import unreadable
from collop.shop.hook import bookings_between, find_bookings, load_booking, load_slip
from collop.shop.knife_model import RailPiece
from collop.shop.model import (
    BoardChange,
    BoardValue,
    Booking,
    CaseLine,
    NewBooking,
    NewLine,
    Person,
    Quote,
    SettingChange,
    Settings,
    Slip,
    SlipTotals,
    State,
)
from collop.shop.offers import offers_of
from collop.shop.own_yields import per_side
from collop.shop.quotes import load_quote, make_quote, number_in
from collop.shop.rooms import MeatRooms, TradeRooms
from collop.shop.settings import load_settings
from collop.shop.settings_change import change_settings, setting_history
from collop.shop.till import totals_of
from collop.shop.works_reading import with_made

__all__ = ["Shop"]


class Shop(MeatRooms, TradeRooms):
    """One shop, opened.

    Every write carries an idempotency `key`: the same request sent twice is done once and gets
    the same answer; the same key with another request is refused with `BadValue`. Any call raises
    `StorageTrouble` if the database cannot be read or written. Safe to share between threads.

    Parameters
    ----------
    room : Room
        Database and clock; use `open_shop` or `create_shop`.
    """

    def __init__(self, room: Room) -> None:
        MeatRooms.__init__(self, room)
        TradeRooms.__init__(self, room)
        self._room = room

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close every connection."""
        self._room.store.close()

    def now(self) -> datetime:
        """Return the shop-local time, without a zone."""
        return self._room.clock.now()

    def settings(self) -> Settings:
        """Return the shop's settings."""
        with self._room.store.read() as conn:
            return load_settings(conn)

    def change_settings(
        self, changes: Mapping[str, object], *, by: str, why: str, key: str
    ) -> Settings:
        """Change settings of prices; see `collop.shop.settings_change.change_settings`."""
        return change_settings(self._room, changes, by=by, why=why, key=key)

    def setting_changes(self) -> tuple[SettingChange, ...]:
        """Return every change of a setting, oldest first."""
        with self._room.store.read() as conn:
            return setting_history(conn)

    def people(self) -> tuple[Person, ...]:
        """Return everybody who works here or did, by name; who left is not `here`."""
        with self._room.store.read() as conn:
            return all_people(conn)

    def case(
        self, at: datetime | None = None, *, leaving_out: str | None = None
    ) -> tuple[CaseLine, ...]:
        """Return the case in board order.

        Parameters
        ----------
        at : datetime, optional
            Prices in force and days left are those of this moment, by default now. Stock is
            always that of now.
        leaving_out : str, optional
            A booking whose weight counts as free, to answer its ask anew.
        """
        number = None if leaving_out is None else number_in("H", leaving_out, "booking")
        with self._room.store.read() as conn:
            chosen = load_settings(conn)
            if number is not None:
                load_booking(conn, number, chosen)
            return load_case(conn, at or self.now(), chosen, leaving_out=number)

    def offers(
        self, at: datetime | None = None, *, leaving_out: str | None = None,
        use_on: date | None = None, by_plan: int | None = None,
    ) -> list[dict[str, Any]]:  # fmt: skip
        """Return the free case as the spread contract's offers.

        What a pound is worth elsewhere is that of the newest kept cutting plan, or the one with the
        number `by_plan`, on the day `use_on`, by default the day of the case.
        """
        with self._room.store.read() as conn:
            sides, unit = per_side(conn), load_settings(conn).legal_unit
        worths = self.bench.worths(use_on or (at or self.now()).date(), number=by_plan)
        with self._room.store.read() as conn:
            worths = with_made(conn, worths)
        return offers_of(self.case(at, leaving_out=leaving_out), sides, worths, unit)

    def board_value(self) -> BoardValue:
        """Return what the case, and what is free of it, is worth at the board."""
        return board_value(self.case(), self.settings())

    def rail(self) -> tuple[RailPiece, ...]:
        """Return what hangs, longest first."""
        return self.cutting.rail()

    def quote(
        self,
        lines: Sequence[NewLine],
        *,
        ask: Mapping[str, Any],
        key: str,
        say: str | None = None,
        total: Money | None = None,
        plan: Mapping[str, Any] | None = None,
        by: str | None = None,
    ) -> Quote:
        """Hold the board prices of `lines`; see `collop.shop.quotes.make_quote`."""
        return make_quote(
            self._room, lines, ask=ask, say=say, plan=plan, total=total, by=by, key=key
        )

    def quote_by_id(self, quote_id: str) -> Quote:
        """Return one quote, or raise `NotFound`."""
        number = number_in("Q", quote_id, "quote")
        with self._room.store.read() as conn:
            return load_quote(conn, number, load_settings(conn).currency)

    def book(
        self,
        new: NewBooking,
        *,
        key: str,
        quote_id: str | None = None,
        accept_new_price: bool = False,
    ) -> Booking:
        """Book an order, all of it or nothing; see `collop.shop.booking.book`."""
        return booking.book(
            self._room, new, key=key, quote_id=quote_id, accept_new_price=accept_new_price
        )

    def rebook(
        self,
        booking_id: str,
        new: NewBooking,
        *,
        key: str,
        quote_id: str | None = None,
        accept_new_price: bool = False,
    ) -> Booking:
        """Book `new` in the place of a booking, both or neither."""
        return booking.rebook(
            self._room, booking_id, new, key=key, quote_id=quote_id,
            accept_new_price=accept_new_price,
        )  # fmt: skip

    def add_lines(
        self,
        booking_id: str,
        lines: Sequence[NewLine],
        *,
        by: str,
        key: str,
        accept_new_price: bool = False,
        total: Money | None = None,
    ) -> Booking:
        """Add lines to a booking at the board of now; see `collop.shop.booking.add_lines`."""
        return booking.add_lines(
            self._room, booking_id, lines, by=by, key=key, accept_new_price=accept_new_price,
            total=total,
        )  # fmt: skip

    def booking(self, booking_id: str) -> Booking:
        """Return one booking, or raise `NotFound`."""
        number = number_in("H", booking_id, "booking")
        with self._room.store.read() as conn:
            return load_booking(conn, number, load_settings(conn))

    def slip(self, booking_id: str) -> Slip:
        """Return what was handed over for a booking that has gone, or raise `WrongState`."""
        number = number_in("H", booking_id, "booking")
        with self._room.store.read() as conn:
            chosen = load_settings(conn)
            if load_booking(conn, number, chosen).state is not State.GONE:
                raise WrongState(f"{booking_id} has not gone; hand it over first.")
            return load_slip(conn, number, chosen)

    def charge(self, lines: Sequence[tuple[str, Money]], *, deposit: Money) -> SlipTotals:
        """Return what lines of the case would come to now, with tax and in cash."""
        with self._room.store.read() as conn:
            chosen = load_settings(conn)
            return totals_of(conn, chosen, lines, deposit=deposit, on=self.now().date())

    def bookings(self, first: date, last: date) -> tuple[Booking, ...]:
        """Return the bookings collected from `first` to `last`, both included, by hour."""
        with self._room.store.read() as conn:
            return bookings_between(conn, first, last, load_settings(conn))

    def find(self, text: str) -> tuple[Booking, ...]:
        """Return bookings by part of a name, phone end or booking id."""
        with self._room.store.read() as conn:
            return find_bookings(conn, text, load_settings(conn))

    def change_state(self, booking_id: str, state: State | str, *, by: str, key: str) -> Booking:
        """Move a booking forward: asked, booked, cut, packed."""
        return counter.change_state(self._room, booking_id, state, by=by, key=key)

    def release(self, booking_id: str, *, by: str, key: str, why: str) -> Booking:
        """Take a booking off; all its weight is free again, exactly."""
        return counter.release(self._room, booking_id, by=by, key=key, why=why)

    def hand_over(
        self, booking_id: str, weighed: Mapping[str, Weight], *, by: str, key: str
    ) -> Slip:
        """Hand over at scale weights; see `collop.shop.counter.hand_over`."""
        return counter.hand_over(self._room, booking_id, weighed, by=by, key=key)

    def undo(self, booking_id: str, *, by: str, key: str) -> Booking:
        """Undo the last step of a booking within one hour."""
        return counter.undo(self._room, booking_id, by=by, key=key)

    def board_price(
        self,
        case_id: str,
        price: UnitPrice,
        *,
        by: str,
        why: str,
        key: str,
        from_at: datetime | None = None,
    ) -> UnitPrice:
        """Put a price on the board; quotes held and bookings made keep theirs."""
        return put_on_board(self._room, case_id, price, by=by, why=why, key=key, from_at=from_at)

    def board_changes(self, case_id: str) -> tuple[BoardChange, ...]:
        """Return every price of a case line as it was put up, oldest first."""
        with self._room.store.read() as conn:
            return board_changes(conn, case_id, load_settings(conn).currency)

    def check(self, *, rows: bool = False) -> list[str]:
        """Return one sentence for each fault of the ledger; empty when it holds.

        With `rows` every row of every table is read before, as a copy is checked.
        """
        with self._room.store.read() as conn:
            return (unreadable(conn) if rows else []) or faults(conn)
