"""Weigh and sell: sales at the glass, what they would come to, and what comes back."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date

from collop.errors import WrongState
from collop.measures import Money, Weight
from collop.shop.acts import Act, Room, once
from collop.shop.hook import booking_id, load_booking, load_slip
from collop.shop.kept_away import priced_when
from collop.shop.model import Slip, State
from collop.shop.payments import give_back
from collop.shop.quotes import number_in
from collop.shop.returning import returned_between, returned_of, take_back, take_back_all
from collop.shop.selling import estimate_of, sell_in
from collop.shop.selling_model import COUNTER, Estimate, NewPayment, NewSale, Returned
from collop.shop.selling_tickets import ticket_meant
from collop.shop.settings import load_settings
from collop.shop.takings import whole_day

__all__ = ["SellingRoom"]


class SellingRoom:
    """Sales at the glass. Reached as `Shop.selling`.

    Every write takes the person `by` and an idempotency `key`, as all of `Shop`'s do. Safe to
    share between threads: two tills sell from one case, and never more than is free.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room

    def sell(
        self, lines: Sequence[NewSale], paid: NewPayment | None = None, *, by: str, key: str,
        name: str = COUNTER, total: Money | None = None,
    ) -> Slip:  # fmt: skip
        """Sell lines at once, at the board of now; see `collop.shop.selling.sell_in`.

        A sale that waited on a device is priced by the board the customer was told.

        Returns
        -------
        Slip
            Its `booking_id` is the number of the sale; `Shop.money` tells what was paid.
        """

        def work(act: Act) -> str:
            told = priced_when(act.at)
            return booking_id(sell_in(act, lines, paid, name=name, total=total, priced_at=told))

        request = [list(lines), paid, name, total]
        answer = once(self._room, "sell", request, by=by, key=key, work=work)
        return self.slip(answer)

    def estimate(self, lines: Sequence[NewSale]) -> Estimate:
        """Return what lines would come to now; see `collop.shop.selling.estimate_of`."""
        with self._room.store.read() as conn:
            act = Act(conn, self._room.clock.now(), "", None, load_settings(conn))
            return estimate_of(act, lines)

    def slip(self, name: str) -> Slip:
        """Return the slip of a sale or of a booking that has gone, or raise `WrongState`."""
        number = number_in("H", name, "booking")
        with self._room.store.read() as conn:
            chosen = load_settings(conn)
            if load_booking(conn, number, chosen).state is not State.GONE:
                raise WrongState(f"{booking_id(number)} has not gone; hand it over first.")
            return load_slip(conn, number, chosen)

    def take_back(
        self, line_id: str, weight: Weight | None, why: str, *, by: str, key: str,
        way: str | None = None,
    ) -> Returned:  # fmt: skip
        """Take weight back over the glass; it goes into the bin, and its money is owed.

        Parameters
        ----------
        line_id : str
            Line of a slip, such as ``H30-1``.
        weight : Weight or None
            What comes back; None for all that is still out.
        why, by, key : str
            Reason, person and idempotency key.
        way : str or None
            How the money is given back at once, as far as it was paid; None notes none.

        Raises
        ------
        BadValue, NotFound, WrongState
            See `collop.shop.returning.take_back`.
        """

        def work(act: Act) -> str:
            number = take_back(act, line_id, weight, why)
            if way is not None:
                give_back(act, number, way, note="taken back")
            last = returned_of(act.conn, [number], act.settings.currency)[number]
            return f"{booking_id(number)} {len(last) - 1}"

        request = [line_id, weight, why, way]
        answer = once(self._room, "take back", request, by=by, key=key, work=work)
        name, _, place = answer.partition(" ")
        return self.returns(name)[int(place)]

    def take_back_all(
        self, name: str, why: str, *, by: str, key: str, give_back_money: bool = True
    ) -> tuple[Returned, ...]:
        """Take back all that is still out of a slip, in one act: a sale that is undone.

        It is a return as any other: all of it goes into the bin.

        Parameters
        ----------
        name : str
            A sale, or a booking that has gone, such as ``H30``.
        why, by, key : str
            Reason, person and idempotency key.
        give_back_money : bool
            Whether its money is noted as given back, each part the way it was paid.

        Raises
        ------
        BadValue, NotFound, WrongState
            See `collop.shop.returning.take_back_all`.
        """
        number = number_in("H", name, "booking")

        def work(act: Act) -> str:
            count = take_back_all(act, number, why)
            if give_back_money:
                give_back(act, number, None, note="taken back")
            last = returned_of(act.conn, [number], act.settings.currency)[number]
            return f"{len(last) - count} {len(last)}"

        request = [number, why, give_back_money]
        answer = once(self._room, "take all back", request, by=by, key=key, work=work)
        first, last = (int(part) for part in answer.split())
        return self.returns(booking_id(number))[first:last]

    def ticket_meant(self, text: str, *, besides: Collection[str] = ()) -> str:
        """Return the ticket a scanner means; see `collop.shop.selling_tickets.ticket_meant`."""
        with self._room.store.read() as conn:
            return ticket_meant(conn, text, load_settings(conn), besides=besides)

    def returns(self, name: str) -> tuple[Returned, ...]:
        """Return what came back of a booking or a sale, oldest first."""
        number = number_in("H", name, "booking")
        with self._room.store.read() as conn:
            found = returned_of(conn, [number], load_settings(conn).currency)
        return tuple(found.get(number, ()))

    def returned_on(self, day: date) -> tuple[Returned, ...]:
        """Return what came back on a day, oldest first."""
        start, end = whole_day(day)
        with self._room.store.read() as conn:
            return returned_between(conn, start, end, load_settings(conn).currency)
