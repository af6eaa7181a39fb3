"""The weeks ahead: the Long List, days opened, animals ordered, and what suppliers ask."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from collop.errors import BadValue
from collop.shop.acts import Act, Room, once
from collop.shop.bench_look import load_look
from collop.shop.farm_animals import bought_before
from collop.shop.farm_orders import load_farm_orders, take_back_order, write_order
from collop.shop.season_days import booked_on, set_day
from collop.shop.season_list import long_list
from collop.shop.season_model import (
    Comparison,
    DayChange,
    FarmOrder,
    LongList,
    NewFarmOrder,
    NewQuote,
    SupplierQuote,
)
from collop.shop.settings import load_settings
from collop.shop.supplier_quotes import compare_quotes, load_quotes, take_off_quote, write_quote

__all__ = ["SeasonRoom"]

_MOST_WEEKS = 53
_MOST_AT_ONCE = 20


class SeasonRoom:
    """The weeks ahead. Reached as `Shop.season`.

    Every write takes the person `by` and an idempotency `key`, as all of `Shop`'s do. Safe to
    share between threads.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room

    def _today(self) -> date:
        return self._room.clock.now().date()

    # the sheet

    def long_list(self, first_week: date | None = None, *, weeks: int = 12) -> LongList:
        """Return the season sheet: booked, hung, ordered and short animals, week by week.

        Parameters
        ----------
        first_week : date, optional
            Any day of the first week, by default this one.
        weeks : int
            From 1 to 53.

        Raises
        ------
        BadValue
            If there are too few or too many weeks, or they lie more than a year from now.
        """
        first = first_week or self._today()
        if isinstance(weeks, bool) or not 1 <= weeks <= _MOST_WEEKS:
            raise BadValue(f"Weeks: from 1 to {_MOST_WEEKS}.", where="weeks")
        if abs((first - self._today()).days) > 7 * _MOST_WEEKS:
            raise BadValue("First week: choose one within a year of today.", where="week")
        with self._room.store.read() as conn:
            now = self._room.clock.now()
            return long_list(conn, now, load_settings(conn), first, weeks)

    def open_day(self, day: date, *, by: str, why: str, key: str) -> DayChange:
        """Open a day that would be shut; see `collop.shop.season_days.set_day`."""
        return self._set(day, is_open=True, by=by, why=why, key=key)

    def close_day(self, day: date, *, by: str, why: str, key: str) -> DayChange:
        """Shut a day; its bookings are named and stay: call them."""
        return self._set(day, is_open=False, by=by, why=why, key=key)

    def _set(self, day: date, *, is_open: bool, by: str, why: str, key: str) -> DayChange:
        def work(act: Act) -> str:
            return set_day(act, day, is_open=is_open, why=why)

        once(self._room, "season day", [day.isoformat(), is_open, why], by=by, key=key, work=work)
        return self.day(day)

    def day(self, day: date) -> DayChange:
        """Return whether customers are served on a day, and who is booked on it."""
        with self._room.store.read() as conn:
            chosen = load_settings(conn)
            return DayChange(day, chosen.is_open(day), booked_on(conn, day, chosen))

    # animals

    def order(self, new: NewFarmOrder, *, by: str, key: str) -> FarmOrder:
        """Write down animals ordered of a farm; see `collop.shop.farm_orders.write_order`."""
        return self.order_all([new], by=by, key=key)[0]

    def order_all(self, new: Sequence[NewFarmOrder], *, by: str, key: str) -> tuple[FarmOrder, ...]:
        """Write down one telephone call: all its orders or none.

        Raises
        ------
        BadValue
            If there is none, there are too many, or a field is out of its range.
        """
        if not 1 <= len(new) <= _MOST_AT_ONCE:
            raise BadValue(f"Order from 1 to {_MOST_AT_ONCE} sorts of animals.", where="animals")

        def work(act: Act) -> str:
            return " ".join(write_order(act, one) for one in new)

        done = once(self._room, "farm order", list(new), by=by, key=key, work=work).split()
        return tuple(one for one in self.orders() if one.id in done)

    def take_back(self, name: str, *, by: str, key: str) -> FarmOrder:
        """Take an order back, e.g. ``O3``; see `collop.shop.farm_orders.take_back_order`."""

        def work(act: Act) -> str:
            return take_back_order(act, name)

        found = once(self._room, "farm order back", name, by=by, key=key, work=work)
        return next(one for one in self.orders() if one.id == found)

    def orders(self) -> tuple[FarmOrder, ...]:
        """Return every order, soonest day first; what was met or taken back is among them."""
        with self._room.store.read() as conn:
            return load_farm_orders(conn)

    def expected(self) -> tuple[FarmOrder, ...]:
        """Return the orders of which something is still to come, soonest day first."""
        return tuple(one for one in self.orders() if one.left)

    def farms(self) -> dict[str, tuple[str, str]]:
        """Return species and farm of the last animal that came, by its name, e.g. ``Lamb``."""
        with self._room.store.read() as conn:
            return {one.name: (one.species, one.farm) for one in bought_before(conn)}

    # what suppliers ask

    def quote(self, new: NewQuote, *, by: str, key: str) -> SupplierQuote:
        """Keep a quote; see `collop.shop.supplier_quotes.write_quote`."""

        def work(act: Act) -> str:
            return write_quote(act, new)

        found = once(self._room, "supplier quote", new, by=by, key=key, work=work)
        with self._room.store.read() as conn:
            return next(one for one in load_quotes(conn, off_too=True) if one.id == found)

    def take_off(self, name: str, *, by: str, key: str) -> None:
        """Take a quote off, e.g. ``B2``."""

        def work(act: Act) -> str:
            return take_off_quote(act, name)

        once(self._room, "supplier quote off", name, by=by, key=key, work=work)

    def quotes(self) -> tuple[SupplierQuote, ...]:
        """Return the quotes that are kept, oldest first; those that are over are among them."""
        with self._room.store.read() as conn:
            return load_quotes(conn)

    def compare(self) -> tuple[Comparison, ...]:
        """Return, for each animal, its quotes that are good today on one basis."""
        today = self._today()
        with self._room.store.read() as conn:
            good = [one for one in load_quotes(conn) if not one.is_over(today)]
            look = load_look(conn, self._room.clock.now(), load_settings(conn))
            return tuple(
                compare_quotes(conn, look, species, [one for one in good if one.species == species])
                for species in dict.fromkeys(one.species for one in good)
            )
