"""Everything out, and lists in and out: the shop's exchange with other programs."""

from __future__ import annotations

import hashlib

from collop.errors import BadValue, WrongState
from collop.shop.acts import Act, Room, once
from collop.shop.csv_lists import LISTS, list_named, list_text
from collop.shop.csv_model import Change, ListChanges, ListKind
from collop.shop.csv_reading import read_list
from collop.shop.exchange_zip import export_zip
from collop.shop.settings import load_settings

__all__ = ["ExchangeRoom"]


class _Tried(Exception):
    """A trial came to its end; nothing of it is kept."""


class ExchangeRoom:
    """Export and lists. Reached as `Shop.exchange`. Safe to share between threads.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room

    def export(self) -> bytes:
        """Return everything the shop keeps as one zip; see `exchange_zip.export_zip`."""
        with self._room.store.read() as conn:
            return export_zip(conn)

    def lists(self) -> tuple[ListKind, ...]:
        """Return the lists there are."""
        return tuple(LISTS.values())

    def list_out(self, name: str) -> str:
        """Return a list as CSV text.

        Raises
        ------
        NotFound
            If there is no such list.
        """
        kind = list_named(name)
        with self._room.store.read() as conn:
            return list_text(kind, conn, load_settings(conn), self._room.clock.now())

    def list_in(
        self, name: str, data: bytes, *, by: str, key: str, why: str = "", write: bool = False,
        seen: str = "",
    ) -> ListChanges:  # fmt: skip
        """Try what a list would change, or change it, all of it or nothing.

        Both go through the same services and checks; a trial leaves no trace.

        Parameters
        ----------
        name : str
            Which list.
        data : bytes
            The list as CSV; see `collop.shop.csv_reading.read_list`.
        by, key : str
            Person and idempotency key; the same list with the same key is read in once, and a
            list of bookings once whatever its key.
        why : str
            Asked for where a price jumps or falls under its cost.
        write : bool
            Whether it is done; left out, it is only tried.
        seen : str
            `ListChanges.digest` of the trial somebody looked at.

        Raises
        ------
        BadValue
            If anything of it is wrong; row and column are named, and nothing is written.
        NotFound
            If there is no such list or person.
        WrongState
            If the list would change something else now than what was seen.
        """
        kind = list_named(name)
        if kind.into is None:
            raise BadValue(f"The list {name} is told by the shop; it cannot be read in.",
                           where="list")  # fmt: skip
        rows = read_list(data, kind.columns, f"list {name}")
        found: list[Change] | None = None

        def work(act: Act) -> str:
            nonlocal found
            assert kind.into is not None
            found = list(kind.into(act, rows, why))
            told = ListChanges(name, len(rows), tuple(found))
            if seen and seen != told.digest:
                raise WrongState("The shop changed since this list was tried; try it again.")
            if not write:
                raise _Tried
            return told.say[:200]

        digest = hashlib.sha256(data).hexdigest()
        if kind.is_once:
            key = f"list {name} {digest}"
        request = [name, digest, "" if kind.is_once else why]
        tried = key if write else f"try {key}"[:200]
        try:
            once(self._room, "list in", request, by=by, key=tried, work=work)
        except _Tried:
            return ListChanges(name, len(rows), tuple(found or ()))
        return ListChanges(name, len(rows), tuple(found or ()), is_written=True,
                           was_written_before=found is None)  # fmt: skip
