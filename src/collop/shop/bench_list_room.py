"""The list of the cutting room as a service: read it, mark its lines, put down clean-downs."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, time
from typing import TYPE_CHECKING

from sqlalchemy.engine import Connection

from collop.measures import Weight
from collop.shop import bench_marks, clean_downs
from collop.shop.acts import Act, Room, once
from collop.shop.bench_list import load_bench
from collop.shop.bench_list_model import BenchList, CleanDue
from collop.shop.settings import load_settings

if TYPE_CHECKING:
    from collop.shop.bench_model import KeptPlan

__all__ = ["BenchListRoom"]


class BenchListRoom:
    """The list's part of `Shop.bench`.

    Every write takes the person `by` and an idempotency `key`; the list may be marked as seen, and
    a cancelled line touched off, by nobody in particular.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room

    def latest(self) -> KeptPlan | None:
        """Return the newest kept plan; None without any."""
        raise NotImplementedError

    def _list(self, conn: Connection, kept: KeptPlan | None) -> BenchList:
        now = self._room.clock.now()
        if kept is None or date.fromisoformat(kept.plan["days"][-1]) < now.date():
            return load_bench(conn, now, load_settings(conn), None)
        return load_bench(conn, now, load_settings(conn), kept.plan, kept.at)

    def lines(self) -> BenchList:
        """Return the list as it is now; see `collop.shop.bench_list.load_bench`."""
        kept = self.latest()
        with self._room.store.read() as conn:
            return self._list(conn, kept)

    def _mark(
        self, kind: str, request: object, *, by: str | None, key: str,
        work: Callable[[Act, BenchList], None],
    ) -> None:  # fmt: skip
        kept = self.latest()

        def marked(act: Act) -> str:
            work(act, self._list(act.conn, kept))
            return kind

        once(self._room, kind, request, by=by, key=key, work=marked)

    def done(
        self, line_id: str, weight: Weight, *, by: str, key: str, sure: bool = False,
        written: time | None = None,
    ) -> None:  # fmt: skip
        """Finish a line with its scale weight, or correct it; see `collop.shop.bench_marks.done`.

        A booking of which every line is finished becomes `cut`.
        """
        self._mark(
            "bench done", [line_id, weight, sure, written], by=by, key=key,
            work=lambda act, on: bench_marks.done(
                act, on, line_id, weight, sure=sure, written=written),
        )  # fmt: skip

    def undo(self, line_id: str, *, by: str, key: str) -> None:
        """Take a finished line back within the hour; see `collop.shop.bench_marks.undo`."""
        self._mark("bench undo", line_id, by=by, key=key,
                   work=lambda act, on: bench_marks.undo(act, on, line_id))  # fmt: skip

    def seen(self, digest: str, *, key: str, by: str | None = None) -> None:
        """Mark the list of that digest as seen; see `collop.shop.bench_marks.seen`."""
        self._mark("bench seen", digest, by=by, key=key,
                   work=lambda act, on: bench_marks.seen(act, on, digest))  # fmt: skip

    def cross_off(self, line_id: str, *, key: str, by: str | None = None) -> None:
        """Touch a cancelled line off the list; see `collop.shop.bench_marks.cross_off`."""
        self._mark("bench cross off", line_id, by=by, key=key,
                   work=lambda act, on: bench_marks.cross_off(act, on, line_id))  # fmt: skip

    def clean_down(self, *, by: str, key: str, what: str = clean_downs.ROOM) -> None:
        """Put down that the room was cleaned down now; see `collop.shop.clean_downs`."""

        def work(act: Act) -> str:
            clean_downs.clean_down(act, what)
            return what

        once(self._room, "clean-down", what, by=by, key=key, work=work)

    def take_back_clean_down(self, *, by: str, key: str) -> None:
        """Take the last clean-down back within the hour; both stay on record."""

        def work(act: Act) -> str:
            clean_downs.take_back_clean_down(act)
            return "taken back"

        once(self._room, "clean-down back", None, by=by, key=key, work=work)

    def clean_due(self) -> CleanDue:
        """Return when the next clean-down is due."""
        with self._room.store.read() as conn:
            return clean_downs.clean_due(conn, self._room.clock.now(), load_settings(conn))
