"""Which steps of a first day were done in a demo shop, as its own acts tell."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from types import MappingProxyType

from sqlalchemy import select

from collop.shop.acts import Room
from collop.shop.clock import DEMO_MONDAY, DEMO_START
from collop.shop.tables import acts

__all__ = ["TOUR_STEPS", "TourRoom"]

#: The steps of a first day in their order, each with the kinds of act that show it was done.
TOUR_STEPS: Mapping[str, frozenset[str]] = MappingProxyType({
    "ask": frozenset({"quote", "book", "book for"}),
    "book": frozenset({"book", "book for"}),
    "hook": frozenset({"state"}),
    "bench": frozenset({"bench done"}),
    "sell": frozenset({"sell"}),
    "ticket": frozenset({"ticket"}),
    "cold": frozenset({"cold check"}),
    "hand-over": frozenset({"hand over"}),
    "count": frozenset({"lock-up count"}),
    "lock": frozenset({"lock up"}),
})  # fmt: skip


class TourRoom:
    """The first-day tour.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room

    def done(self) -> frozenset[str]:
        """Return the steps of `TOUR_STEPS` that were done since the demo week began.

        What the demo week itself wrote lies before its start and does not count.
        """
        with self._room.store.read() as conn:
            query = select(acts.c.kind).where(acts.c.at >= self._start()).distinct()
            kinds = set(conn.scalars(query))
        return frozenset(step for step, shown_by in TOUR_STEPS.items() if shown_by & kinds)

    def _start(self) -> datetime:
        """Return when the week begins for whoever takes the tour: Tuesday, or its Monday."""
        return DEMO_START if self._room.clock.now() >= DEMO_START else DEMO_MONDAY
