"""Standing orders: begin, change, pause, skip, end; and the bookings of the coming days."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

from collop.errors import BadValue, WrongState
from collop.shop.acts import Act, Room, once
from collop.shop.settings import load_settings
from collop.shop.standing_due import due_of, make_one
from collop.shop.standing_model import Due, MadeDue, NewStanding, Standing, due_days
from collop.shop.standing_rows import (
    checked_terms,
    load_standing,
    newest_row,
    note_standing,
    order_id,
    root_of,
    write_terms,
)

__all__ = ["StandingRoom"]

#: Bookings are made so many days ahead unless another day is named.
AHEAD_DAYS = 7
_MOST_AHEAD = 62


class StandingRoom:
    """Standing orders. Reached as `Shop.standing`.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room

    def orders(self) -> tuple[Standing, ...]:
        """Return all standing orders, oldest first, ended ones too."""
        with self._room.store.read() as conn:
            return load_standing(conn)

    def order(self, name: str) -> Standing:
        """Return one standing order, e.g. ``S1``, or raise `NotFound`."""
        with self._room.store.read() as conn:
            return load_standing(conn, name)[0]

    def begin(self, new: NewStanding, *, key: str) -> Standing:
        """Begin a standing order.

        Raises
        ------
        BadValue, NotFound
            If a field is out of range, or a line names no case line.
        """

        def work(act: Act) -> str:
            checked_terms(act, new, first_from=act.at.date())
            number = write_terms(act, new)
            note_standing(act, number, "begun")
            return order_id(number)

        return self.order(once(self._room, "standing", new, by=new.by, key=key, work=work))

    def change(self, name: str, new: NewStanding, *, key: str) -> Standing:
        """Put new terms in the place of the old ones; bookings made stay as they are.

        Raises
        ------
        WrongState
            If the order has ended.
        BadValue, NotFound
            As for `begin`; the first day may be that of the old terms.
        """

        def work(act: Act, standing: Standing) -> None:
            _running(standing)
            checked_terms(act, new, first_from=min(act.at.date(), standing.terms.first_day))
            number = write_terms(act, new, newest_row(standing))
            facts = {"changed": True, "row": number}
            note_standing(act, number, "begun", facts=facts, why="changed")

        return self._on(name, "change standing", new, by=new.by, key=key, work=work)

    def _on(
        self, name: str, kind: str, request: object, *, by: str, key: str,
        work: Callable[[Act, Standing], None],
    ) -> Standing:  # fmt: skip
        number = root_of(name)

        def done(act: Act) -> str:
            work(act, load_standing(act.conn, name)[0])
            return order_id(number)

        return self.order(once(self._room, kind, [number, request], by=by, key=key, work=done))

    def pause(self, name: str, *, by: str, key: str, why: str = "") -> Standing:
        """Let a standing order rest until it is resumed; bookings made stay as they are.

        Raises
        ------
        WrongState
            If it is paused already or has ended.
        """

        def work(act: Act, standing: Standing) -> None:
            if standing.state != "on":
                raise WrongState(f"{standing.id} is {standing.state}; it cannot be paused.")
            note_standing(act, newest_row(standing), "paused", why=why)

        return self._on(name, "pause standing", why, by=by, key=key, work=work)

    def resume(self, name: str, *, by: str, key: str) -> Standing:
        """Let a paused standing order run again.

        Raises
        ------
        WrongState
            If it is not paused.
        """

        def work(act: Act, standing: Standing) -> None:
            if standing.state != "paused":
                raise WrongState(
                    f"{standing.id} is {standing.state}; only a paused one is resumed."
                )
            note_standing(act, newest_row(standing), "resumed")

        return self._on(name, "resume standing", None, by=by, key=key, work=work)

    def skip(self, name: str, day: date, *, by: str, key: str, why: str = "") -> Standing:
        """Leave one day out.

        Raises
        ------
        WrongState
            If the order has ended, or the day's booking was made or left out already.
        BadValue
            If it is not a day of the order, or over.
        """

        def work(act: Act, standing: Standing) -> None:
            _running(standing)
            if day < act.at.date() or not due_days(standing.terms, day, day):
                raise BadValue(f"{day} is no coming day of {standing.id}; choose one of its days.",
                               where="day")  # fmt: skip
            made = next((one for one in standing.events if one.on_day == day), None)
            if made is not None:
                raise WrongState(
                    f"{day} of {standing.id} is left out already." if made.what == "skipped"
                    else f"{made.booking_id} hangs for {day} already; release that booking."
                )  # fmt: skip
            note_standing(act, newest_row(standing), "skipped", on_day=day, why=why)

        return self._on(name, "skip standing", [day.isoformat(), why], by=by, key=key, work=work)

    def end(self, name: str, *, by: str, key: str, why: str = "") -> Standing:
        """End a standing order for good; bookings made stay as they are.

        Raises
        ------
        WrongState
            If it has ended already.
        """

        def work(act: Act, standing: Standing) -> None:
            _running(standing)
            note_standing(act, newest_row(standing), "ended", why=why)

        return self._on(name, "end standing", why, by=by, key=key, work=work)

    def _until(self, until: date | None) -> date:
        today = self._room.clock.now().date()
        wanted = until or today + timedelta(days=AHEAD_DAYS)
        if not today <= wanted <= today + timedelta(days=_MOST_AHEAD):
            raise BadValue(f"Bookings are made from today to {_MOST_AHEAD} days ahead; choose a day"
                           " between.", where="until")  # fmt: skip
        return wanted

    def due(self, until: date | None = None) -> tuple[Due, ...]:
        """Return the bookings that are to be made up to a day, by default a week ahead, by hour.

        Raises
        ------
        BadValue
            If the day is over or too far ahead.
        """
        wanted, now = self._until(until), self._room.clock.now()
        with self._room.store.read() as conn:
            chosen = load_settings(conn)
            found = [due for one in load_standing(conn) for due in due_of(one, now, wanted, chosen)]
        return tuple(sorted(found, key=lambda one: (one.collect_at, one.order_id)))

    def due_by(self, last: date) -> tuple[Due, ...]:
        """Return what is due up to a day, as `due` does; nothing if it is over, no error.

        So far ahead that no bookings are made yet, what is due is told as far as they are.
        """
        today = self._room.clock.now().date()
        until = min(last, today + timedelta(days=_MOST_AHEAD))
        return () if until < today else self.due(until)

    def make_due(self, until: date | None = None, *, by: str) -> tuple[MadeDue, ...]:
        """Make the bookings that are due, each once, whoever asks and however often.

        Parameters
        ----------
        until : date, optional
            Last day of collection, by default a week ahead.
        by : str
            Person.

        Returns
        -------
        tuple of MadeDue
            Those made now; what was made before is not among them.

        Raises
        ------
        BadValue
            If the day is over or too far ahead.
        NotFound
            If nobody of that name works here.
        """
        made = []
        for due in self.due(until):
            # the key names order and day, so that two tills make one booking
            key = f"standing-{due.order_id}-{due.day.isoformat()}"

            def work(act: Act, due: Due = due) -> str:
                return make_one(act, due)

            try:
                found = once(self._room, "standing due", [due.order_id, due.day.isoformat()],
                             by=by, key=key, work=work)  # fmt: skip
            except WrongState:  # paused, skipped or made at another till meanwhile
                continue
            event = next(one for one in self.order(due.order_id).events if one.booking_id == found)
            made.append(MadeDue(due.order_id, due.day, found, tuple(event.facts["said"])))
        return tuple(made)


def _running(standing: Standing) -> None:
    if standing.state == "ended":
        raise WrongState(f"{standing.id} has ended; begin a new one.")
