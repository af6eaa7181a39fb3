"""Work on bookings, weighing ahead, and what a customer chooses, as the counter asks for them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from sqlalchemy import select

from collop.measures import Money, Weight
from collop.shop.acts import Act, Room, once
from collop.shop.case import load_case
from collop.shop.counter import hand_over
from collop.shop.hook import load_booking
from collop.shop.pickup_choices import Chosen, choose
from collop.shop.pickup_going import go_without
from collop.shop.pickup_money import money_now
from collop.shop.pickup_reading import load_pickup
from collop.shop.pickup_stand_ins import told_later
from collop.shop.pickup_stopping import allergen_of, stop, stopped_lines, stopped_of
from collop.shop.pickup_weighing import REASONS, WeighedAhead, weigh_ahead, weigh_all
from collop.shop.quotes import number_in
from collop.shop.rehoming import load_rehoming
from collop.shop.renewing import load_renewals, renew
from collop.shop.settings import load_settings
from collop.shop.tables import lots
from collop.shop.works import WorkOn, work
from collop.shop.works_list import load_work, load_works, take_work_back

if TYPE_CHECKING:
    from collop.shop.model import Slip
    from collop.shop.pickup_model import Pickup, Stopped
    from collop.shop.pickup_money import MoneyNow
    from collop.shop.rehoming_model import Rehoming
    from collop.shop.renewing import Renewal
    from collop.shop.works_model import Work

__all__ = ["PickupRoom"]


class PickupRoom:
    """Bookings between the hook and the customer. Reached as `Shop.pickup`.

    Every write takes the person `by` and an idempotency `key`, as all of `Shop`'s do.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    #: Why a line may be short, and where the missing weight is: ``drip`` or ``case``.
    reasons = REASONS

    def __init__(self, room: Room) -> None:
        self._room = room

    def _once(
        self, kind: str, request: object, *, by: str, key: str, work: Callable[[Act], object]
    ) -> str:
        return once(self._room, kind, request, by=by, key=key, work=lambda act: str(work(act)))

    def work(
        self, what: str, before: Weight, after: Weight, into: str = "", words: str = "", *,
        by: str, key: str, rest: str = "bone",
    ) -> Work:  # fmt: skip
        """Work on a booked line (``H1-1``) or a line of the case; see `collop.shop.works.work`.

        Parameters
        ----------
        what : str
            Booked line, or line of the case for work on free stock.
        before, after : Weight
            What it weighed before and weighs after.
        into : str
            Line of the case it becomes, or the name of a new one; left empty, named after `words`.
        words : str
            What was done, e.g. ``boned and tied``.
        by, key : str
            Person and idempotency key.
        rest : str
            Where what was taken off goes: bone, trim, fat or drip.
        """
        asked = WorkOn(what.strip().upper(), before, after, words, into, rest)
        number = self._once("work", asked, by=by, key=key, work=lambda act: work(act, asked))
        return self._work(int(number))

    def take_work_back(self, number: int, *, by: str, key: str) -> Work:
        """Take a piece of work back; see `collop.shop.works_list.take_work_back`."""
        self._once("take work back", number, by=by, key=key,
                   work=lambda act: take_work_back(act, number))  # fmt: skip
        return self._work(number)

    def _work(self, number: int) -> Work:
        with self._room.store.read() as conn:
            return load_work(conn, number, load_settings(conn), self._room.clock.now())

    def works(self, booking_id: str | None = None) -> tuple[Work, ...]:
        """Return the work that was done, newest first: on one booking, or all of it."""
        number = None if booking_id is None else number_in("H", booking_id, "booking")
        with self._room.store.read() as conn:
            return load_works(conn, load_settings(conn), self._room.clock.now(), booking=number)

    def weigh(
        self, line_id: str, weighed: Weight, reason: str | None = None, *, by: str, key: str,
        why: str = "",
    ) -> Pickup:  # fmt: skip
        """Weigh a booked line ahead; see `collop.shop.pickup_weighing.weigh_ahead`."""
        asked = WeighedAhead(line_id.strip().upper(), weighed, reason, why)
        line = self._once("weigh ahead", asked, by=by, key=key,
                          work=lambda act: weigh_ahead(act, asked))  # fmt: skip
        return self.pickup(line.partition("-")[0])

    def weigh_all(self, asked: Sequence[WeighedAhead], *, by: str, key: str) -> Pickup:
        """Weigh several lines of a booking at once; see `collop.shop.pickup_weighing.weigh_all`."""
        lines = self._once("weigh all", list(asked), by=by, key=key,
                           work=lambda act: weigh_all(act, asked))  # fmt: skip
        return self.pickup(lines.partition("-")[0])

    def pickup(self, booking_id: str) -> Pickup:
        """Return a booking before its customer comes, with the ways out of each line."""
        with self._room.store.read() as conn:
            return load_pickup(conn, booking_id, load_settings(conn), self._room.clock.now())

    def money(self, booking_id: str) -> MoneyNow:
        """Return what a booking comes to, as booked and now; see `money_now`."""
        number = number_in("H", booking_id, "booking")
        with self._room.store.read() as conn:
            chosen = load_settings(conn)
            booking = load_booking(conn, number, chosen)
            return money_now(conn, booking, chosen, self._room.clock.now().date())

    def go_without(self, booking_id: str, *, by: str, key: str) -> Pickup:
        """Take back what is still to come; see `collop.shop.pickup_going.go_without`."""
        number = number_in("H", booking_id, "booking")
        self._once("go without", number, by=by, key=key,
                   work=lambda act: go_without(act, number))  # fmt: skip
        return self.pickup(booking_id)

    def choose(
        self, line_id: str, what: str, agreed: str, *, by: str, key: str,
        case_id: str | None = None, weight: Weight | None = None, total: Money | None = None,
    ) -> Pickup:  # fmt: skip
        """Write what the customer chose for a line; see `collop.shop.pickup_choices.choose`."""
        chosen = Chosen(line_id.strip().upper(), what, agreed, case_id, weight, total)
        line = self._once("choose", chosen, by=by, key=key, work=lambda act: choose(act, chosen))
        return self.pickup(line.partition("-")[0])

    def hand_over(
        self, booking_id: str, weighed: Mapping[str, Weight], chosen: Sequence[Chosen], *,
        by: str, key: str, total: Money | None = None,
    ) -> Slip:  # fmt: skip
        """Hand over with what was agreed at the glass; see `collop.shop.counter.hand_over`."""
        return hand_over(self._room, booking_id, weighed, by=by, key=key, chosen=chosen,
                         total=total)  # fmt: skip

    def renew(self, line_id: str, *, by: str, key: str) -> Pickup:
        """Give a line fresh stock for what is past its day; see `collop.shop.renewing.renew`."""
        asked = line_id.strip().upper()
        line = self._once("renew", asked, by=by, key=key, work=lambda act: renew(act, asked))
        return self.pickup(line.partition("-")[0])

    def renewals(self, booking_id: str) -> tuple[Renewal, ...]:
        """Return the lines of a booking that do not keep until collection, with what is fresh."""
        number = number_in("H", booking_id, "booking")
        with self._room.store.read() as conn:
            booking = load_booking(conn, number, load_settings(conn))
            return load_renewals(conn, booking, self._room.clock.now().date())

    def stop(self, booking_id: str, allergen: str, *, by: str, key: str, told: str) -> Stopped:
        """Take every line with an allergen off a booking; see `collop.shop.pickup_stopping.stop`.

        `told` says who called or how it was told; `by` took the call.
        """
        number = number_in("H", booking_id, "booking")
        self._once("stop", [number, allergen, told], by=by, key=key,
                   work=lambda act: stop(act, number, allergen, told))  # fmt: skip
        return next(one for one in reversed(self.stops(booking_id))
                    if one.allergen == allergen_of(allergen))  # fmt: skip

    def stops(self, booking_id: str) -> tuple[Stopped, ...]:
        """Return what calls about allergens took off a booking, oldest first."""
        number = number_in("H", booking_id, "booking")
        with self._room.store.read() as conn:
            chosen, now = load_settings(conn), self._room.clock.now()
            booking = load_booking(conn, number, chosen)
            done = load_works(conn, chosen, now, booking=number)
            case = load_case(conn, now, chosen)
            names = [lot for line in booking.lines for lot in line.lots]
            rows = conn.execute(select(lots.c.id, lots.c.since).where(lots.c.id.in_(names)))
            ended = stopped_lines(conn, number)
            since = {row.id: row.since.date() for row in rows}
            return tuple(
                stopped_of(booking, case, one, ended=ended[one], work=done, since=since)
                for one in told_later(booking)
            )

    def rehome(self, booking_id: str) -> Rehoming:
        """Return what a released booking left to sell, and the moves for it, best first."""
        with self._room.store.read() as conn:
            return load_rehoming(conn, booking_id, load_settings(conn), self._room.clock.now())
