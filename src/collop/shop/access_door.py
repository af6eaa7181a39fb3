"""What every part of the door needs: database, time, and the log."""

from __future__ import annotations

import time
from collections.abc import Callable

from sqlalchemy.engine import Connection

from collop.shop import access_sessions as kept
from collop.shop.access_model import Member
from collop.shop.access_secrets import check_password
from collop.shop.access_signing import Signing
from collop.shop.access_tables import sessions
from collop.shop.acts import Room
from collop.shop.audit_chain import log_event
from collop.shop.settings import load_settings

__all__ = ["DoorPart"]


class DoorPart:
    """Part of the door of one shop.

    Parameters
    ----------
    room : Room
        Database and clock.
    wall : callable
        Seconds since 1970 by the machine's clock.
    """

    def __init__(self, room: Room, *, wall: Callable[[], float] = time.time) -> None:
        self._room = room
        self._wall = wall
        self._signing = Signing(room, self._now)

    def _now(self) -> int:
        return int(self._wall())

    def _log(
        self, conn: Connection, kind: str, what: str, by: str | None, device: int | None = None
    ) -> None:
        log_event(conn, kind, what, at=self._room.clock.now(), by=by, device=device)

    def _end(self, conn: Connection, member: Member, why: str, *, by: str | None) -> int:
        """End every session of a person, say in the log how many were in use, and return that."""
        ended = kept.end_sessions(conn, sessions.c.person_id == member.id, why, self._now())
        if ended:
            self._log(conn, "ended", f"{ended} of {member.name}: {why}", by)
        return ended

    def _checked(self, password: object, *names: str) -> str:
        """Return a new password that will do here; see `check_password`."""
        with self._room.store.read() as conn:
            shop = load_settings(conn).name
        return check_password(password, [*names, shop])
