"""What a device needs while the server is away, and the end of what it could not send."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from collop.shop.acts import Act, Room, once
from collop.shop.audit_chain import log_event
from collop.shop.day_places import words_in
from collop.shop.selling_away import sale_facts

__all__ = ["WaitingRoom"]

_LONGEST_WHAT, _LONGEST_WHY = 90, 60


class WaitingRoom:
    """Devices without the server. Reached as `Shop.waiting`.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room

    def sale_facts(self) -> dict[str, Any]:
        """Return what a device sells by while the server is away; see `selling_away.sale_facts`."""
        with self._room.store.read() as conn:
            return sale_facts(conn, self._room)

    def given_up(
        self, what: str, why: str, *, key: str, kept_at: datetime | None = None,
        by: str | None = None,
    ) -> str:  # fmt: skip
        """Write into the log that something was done, could not be entered, and was given up.

        Nothing else is written: stock and money stay as they are.

        Parameters
        ----------
        what, why : str
            What it was, up to 90 characters, e.g. ``Sale at the glass: 2 lines, 8.42 cash``; and
            why it was given up, up to 60.
        key : str
            Idempotency key.
        kept_at : datetime, optional
            Shop time at which the device kept it.
        by : str, optional
            Who gave it up.

        Returns
        -------
        str
            The words as they stand in the log.

        Raises
        ------
        BadValue, NotFound
            If a word is missing or too long, or nobody is called `by`.
        """
        what = words_in(what, "What it was", _LONGEST_WHAT, where="what")
        why = words_in(why, "Why", _LONGEST_WHY, where="why")
        when = "" if kept_at is None else f", kept {kept_at:%a %-d %b %H:%M}"
        said = f"given up: {what}{when}; {why}"

        def work(act: Act) -> str:
            log_event(act.conn, "given up", said, at=act.at, by=act.by)
            return "given up"

        once(self._room, "give up", [what, why, kept_at], by=by, key=key, work=work)
        return said
