"""Sessions, known devices and the log, as an owner watches them."""

from __future__ import annotations

import re
from datetime import date, datetime, time

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound, WrongState
from collop.shop import access_people as staff
from collop.shop import access_sessions as kept
from collop.shop import access_throttle as throttle
from collop.shop.access_door import DoorPart
from collop.shop.access_model import AuditLine, DeviceSeen, SessionSeen
from collop.shop.access_secrets import new_token
from collop.shop.access_tables import audit, sessions
from collop.shop.audit_chain import audit_faults, is_seal, newest_seal
from collop.shop.store import AnyRow
from collop.shop.tables import acts

__all__ = ["WatchPart"]

_LONGEST_DEVICE, _LONGEST_WHY, _LONGEST_KIND = 60, 60, 20
_MOST_LINES = 10_000
_SEAL = re.compile(r"[0-9a-f]{16,64}")


class WatchPart(DoorPart):
    """What is open and what was done."""

    def sessions(self, *, ended: bool = False) -> tuple[SessionSeen, ...]:
        """Return the sessions in use, newest first; with `ended` those too that are over."""
        now, query = self._now(), select(sessions).order_by(sessions.c.number.desc())
        with self._room.store.read() as conn:
            people = {one.id: one for one in staff.members_of(conn)}
            rows = list(conn.execute(query))
        return tuple(
            kept.session_seen(row, people, now) for row in rows if ended or kept.is_live(row, now)
        )

    def end_session(self, number: int, *, by: str, why: str) -> None:
        """End one session: one's own, or another's as an owner.

        Raises
        ------
        BadValue, NotFound, WrongState
            If no reason is given, there is no such session in use, or `by` may not do it.
        """
        why = staff.one_line(why, "Why", _LONGEST_WHY)

        def write(conn: Connection) -> None:
            known = {row.number: row for row in conn.execute(select(sessions))}
            row = known.get(number)
            if row is None or not kept.is_live(row, self._now()):
                raise NotFound(f"No session {number} is in use.", where="number")
            whose = staff.find_member(conn, row.person_id)
            actor = staff.acting(conn, by, "people", own=whose)
            kept.end_sessions(conn, sessions.c.number == row.number, why, self._now())
            self._log(conn, "ended", f"session {row.number} of {whose.name}: {why}", actor)

        self._room.store.run(write)

    def end_all(self, who: str, *, by: str, why: str) -> int:
        """End every session of a person; return how many were in use.

        Raises
        ------
        BadValue, NotFound, WrongState
            If no reason is given, nobody is called so, or `by` may not do it.
        """
        why = staff.one_line(why, "Why", _LONGEST_WHY)

        def write(conn: Connection) -> int:
            whose = staff.find_member(conn, who)
            actor = staff.acting(conn, by, "people", own=whose)
            return self._end(conn, whose, why, by=actor)

        return self._room.store.run(write)

    def know_device(self, name: str, *, by: str) -> tuple[DeviceSeen, str]:
        """Make a device known; its token is handed out once, for the device's cookie.

        Raises
        ------
        BadValue, NotFound, WrongState
            If the name will not do, or `by` may not do it.
        """
        name, token = staff.one_line(name, "Name", _LONGEST_DEVICE), new_token()

        def write(conn: Connection) -> DeviceSeen:
            actor = staff.acting(conn, by, "settings")
            if any(one.name == name and one.ended_at is None for one in kept.all_devices(conn)):
                raise WrongState(f"A device is called {name} already; choose another name.",
                                 where="name")  # fmt: skip
            device = kept.keep_device(conn, name, token, by=actor, now=self._now())
            self._log(conn, "device known", name, actor, device.number)
            return device

        return self._room.store.run(write), token

    def device_of(self, token: str) -> DeviceSeen | None:
        """Return the known device of a token; None if there is none, or it was forgotten."""
        with self._room.store.read() as conn:
            return kept.device_by_token(conn, token)

    def devices(self) -> tuple[DeviceSeen, ...]:
        """Return every device, oldest first; one that was forgotten has its end."""
        with self._room.store.read() as conn:
            return kept.all_devices(conn)

    def forget_device(self, number: int, *, by: str) -> None:
        """Let a device go: its sessions and PINs are no more.

        Raises
        ------
        NotFound, WrongState
            If no known device has the number, or `by` may not do it.
        """

        def write(conn: Connection) -> None:
            actor = staff.acting(conn, by, "settings")
            device = kept.device_by_number(conn, number)
            kept.drop_device(conn, device, self._now())
            self._log(conn, "device forgotten", device.name, actor, device.number)

        self._room.store.run(write)

    def log(
        self, first: date, last: date, *, who: str | None = None, kind: str | None = None,
        most: int = 500,
    ) -> tuple[AuditLine, ...]:  # fmt: skip
        """Return the log of some days, newest first.

        Parameters
        ----------
        first, last : date
            Shop-local days, both included.
        who : str, optional
            Only what this person did, by id or name.
        kind : str, optional
            Only this kind: ``act``, ``signed in``, ``refused``...
        most : int
            At most so many rows, 1 to 10,000.

        Raises
        ------
        BadValue, NotFound
            If the days are the wrong way round, or nobody is called so.
        """
        if last < first:
            raise BadValue(f"{first} is after {last}; turn them round.", where="first")
        if not 1 <= most <= _MOST_LINES:
            raise BadValue(f"Ask for 1 to {_MOST_LINES} rows at a time.", where="most")
        ends = datetime.combine(last, time.max)
        query = select(audit, acts.c.answer).outerjoin(acts, acts.c.key == audit.c.key)
        query = query.where(audit.c.at >= datetime.combine(first, time.min),
                                    audit.c.at <= ends)  # fmt: skip
        if kind is not None:
            query = query.where(audit.c.kind == staff.one_line(kind, "Kind", _LONGEST_KIND))
        with self._room.store.read() as conn:
            if who is not None:
                query = query.where(audit.c.by_id == staff.find_member(conn, who).id)
            rows = list(conn.execute(query.order_by(audit.c.seq.desc()).limit(most)))
        return tuple(_line(row) for row in rows)

    def log_faults(self) -> tuple[str, ...]:
        """Return one sentence for each broken seal, and each act that is not as the log has it."""
        with self._room.store.read() as conn:
            return tuple(audit_faults(conn))

    def seal(self) -> str:
        """Return the newest seal of the log, 64 hexadecimal digits: keep it outside the shop."""
        with self._room.store.read() as conn:
            return newest_seal(conn)

    def knows_seal(self, seal: str) -> bool:
        """Tell whether a seal that was kept is one of the log's: what came before it is as it was.

        Only together with `log_faults`, which looks at every seal. The first 16 digits are enough,
        as the lock-up shows them: who forges a log would have to hit 64 bits. Spaces do not count.
        """
        wanted = "".join(seal.split()).casefold()
        if not _SEAL.fullmatch(wanted):
            return False
        with self._room.store.read() as conn:
            return is_seal(conn, wanted)

    def alarms(self) -> tuple[str, ...]:
        """Return what an owner is to see: accounts on which many tries failed within the hour."""
        with self._room.store.read() as conn:
            found = throttle.hour_alarms(conn, self._now())
            names = {one.id: one.name for one in staff.members_of(conn)}
        whose = ("with names nobody has" if way == "anybody" else f"as {names.get(person, person)}"
                 for way, person in found)  # fmt: skip
        return tuple(
            f"{throttle.ALARM_AT} or more tries to sign in {words} failed within the hour; look who"
            " is on the shop's network."
            for words in dict.fromkeys(whose)
        )


def _line(row: AnyRow) -> AuditLine:
    return AuditLine(
        row.seq, row.at, row.kind, row.what, row.by_id, row.device_number, row.key, row.answer
    )  # fmt: skip
