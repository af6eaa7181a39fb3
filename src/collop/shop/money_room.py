"""Money noted: payments, deposits by the shop's written rule, the takings of a day, accounts."""

from __future__ import annotations

from datetime import date

from collop.errors import NotFound
from collop.measures import Money
from collop.shop.acts import Act, Room, once
from collop.shop.hook import booking_id
from collop.shop.payments import deposit_word, money_of, note_payment, rule_words
from collop.shop.quotes import number_in
from collop.shop.selling_model import DepositWord, OnAccount, SlipMoney, Takings
from collop.shop.settings import load_settings
from collop.shop.takings import accounts_of, takings_of

__all__ = ["MoneyRoom"]


class MoneyRoom:
    """Money as it is noted. Reached as `Shop.money`.

    Every write takes the person `by` and an idempotency `key`, as all of `Shop`'s do. No number
    of a card is ever kept. Safe to share between threads.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room

    def note(
        self, name: str, what: str, way: str, amount: Money | None = None, *, note: str = "",
        given: Money | None = None, by: str, key: str,
    ) -> SlipMoney:  # fmt: skip
        """Note money on a booking or a sale; see `collop.shop.payments.note_payment`."""
        number = number_in("H", name, "booking")

        def work(act: Act) -> str:
            note_payment(act, number, what, way, amount, note=note, given=given)
            return booking_id(number)

        request = [number, what, way, amount, note, given]
        return self.of(once(self._room, "payment", request, by=by, key=key, work=work))

    def of(self, name: str) -> SlipMoney:
        """Return what a booking or a sale comes to, what was noted, and what is due."""
        number = number_in("H", name, "booking")
        with self._room.store.read() as conn:
            found = money_of(conn, [number], load_settings(conn)).get(number)
        if found is None:
            raise NotFound(f"There is no booking {booking_id(number)}; look it up by name.",
                           where="booking")  # fmt: skip
        return found

    def on_release(self, name: str) -> DepositWord:
        """Return what the written rule says of a deposit; see `collop.shop.payments.deposit_word`.

        Nothing is moved by it: what was done is noted with `note`.
        """
        number = number_in("H", name, "booking")
        with self._room.store.read() as conn:
            return deposit_word(conn, number, self._room.clock.now(), load_settings(conn))

    def deposit_rule(self) -> str:
        """Return the shop's written rule of deposits: its own words, or its figures in words."""
        with self._room.store.read() as conn:
            chosen = load_settings(conn)
        return chosen.deposit_words or rule_words(chosen)

    def takings(self, day: date | None = None) -> Takings:
        """Return the money of a day, by default today's; see `collop.shop.takings.takings_of`."""
        with self._room.store.read() as conn:
            return takings_of(conn, day or self._room.clock.now().date(), load_settings(conn))

    def accounts(self) -> tuple[OnAccount, ...]:
        """Return who pays later, by name, with the slips not paid yet."""
        with self._room.store.read() as conn:
            return accounts_of(conn, load_settings(conn))
