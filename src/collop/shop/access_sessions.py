"""Sessions and known devices: rows on the server that may be ended at any time.

A session lasts 12 hours at most, one shift, and ends sooner when it is not used: after 30 minutes,
or after 15 where a PIN on a known device opened it. The token stands only in the cookie; here
stands its digest.

References
----------
.. [1] OWASP ASVS 5.0 (source id ASVS5): 7.2.3, 7.2.4, 7.3.1, 7.3.2, 7.4.1, 7.4.2, 7.4.5.
.. [2] OWASP Session Management Cheat Sheet (source id OWASPSESS): 15 to 30 minutes is the usual
   band of the idle limit where the risk is low. The 12 hours are ours.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime

from sqlalchemy import ColumnElement, and_, delete, insert, select, update
from sqlalchemy.engine import Connection

from collop.errors import NotFound, WrongState
from collop.shop.access_model import DeviceSeen, Member, SessionSeen
from collop.shop.access_people import PIN
from collop.shop.access_secrets import token_hash
from collop.shop.access_tables import devices, secrets, sessions
from collop.shop.store import AnyRow

__all__ = [
    "ENDS_S", "IDLE_S", "PIN_IDLE_S", "all_devices", "begin_session", "device_by_number",
    "device_by_token", "drop_device", "end_sessions", "is_live", "keep_device", "known_device",
    "moment", "session_by_token", "session_seen", "touch",
]  # fmt: skip

#: Seconds a session may stand unused: opened with a password, and with a PIN.
IDLE_S, PIN_IDLE_S = 30 * 60, 15 * 60
#: Seconds a session lasts, used or not.
ENDS_S = 12 * 3600
#: Use is written down at most this often, seconds.
TOUCH_S = 60
#: Sessions that began longer ago than this are let go of; the log keeps who came and went.
KEPT_S = 60 * 24 * 3600
#: A clock set back further than this before a session's begin ends it.
_SET_BACK_S = 300
_LONGEST_WHY = 80
_row = sessions.c


def moment(seconds: int) -> datetime:
    """Return seconds since 1970 as a time in UTC."""
    return datetime.fromtimestamp(seconds, tz=UTC)


def begin_session(
    conn: Connection, person: str, token: str, *, way: str, device: int | None, now: int
) -> int:  # fmt: skip
    """Write a new session, let go of very old ones, and return when it ends."""
    conn.execute(delete(sessions).where(_row.made_at < now - KEPT_S))
    conn.execute(
        insert(sessions).values(
            token_hash=token_hash(token), person_id=person, device_number=device, way=way,
            made_at=now, seen_at=now, ends_at=now + ENDS_S,
        )
    )  # fmt: skip
    return now + ENDS_S


def session_by_token(conn: Connection, token: object) -> AnyRow | None:
    """Return the row of a token, whatever became of it."""
    query = select(sessions).where(_row.token_hash == token_hash(token))
    return conn.execute(query).first()


def _idle_end(row: AnyRow) -> int:
    return int(row.seen_at) + (PIN_IDLE_S if row.way == PIN else IDLE_S)


def is_live(row: AnyRow, now: int) -> bool:
    """Tell whether a session was not ended, is not past its end and was used not long ago."""
    if row.ended_at is not None or now < row.made_at - _SET_BACK_S:
        return False
    return now < min(int(row.ends_at), _idle_end(row))


def touch(conn: Connection, row: AnyRow, now: int) -> None:
    """Write that a session was used."""
    conn.execute(
        update(sessions).where(_row.number == row.number, _row.seen_at < now).values(seen_at=now)
    )


def session_seen(row: AnyRow, people: Mapping[str, Member], now: int) -> SessionSeen:
    """Return a session as pages see it; one that ran out says when and why."""
    ended, why = row.ended_at, row.ended_why
    if ended is None and not is_live(row, now):
        ended = min(int(row.ends_at), _idle_end(row), max(now, row.made_at))
        why = "its time was over" if ended == row.ends_at else "not used"
    return SessionSeen(
        row.number, people[row.person_id], row.device_number, row.way, moment(row.made_at),
        moment(row.seen_at), moment(row.ends_at), None if ended is None else moment(ended), why,
    )  # fmt: skip


def end_sessions(conn: Connection, which: ColumnElement[bool], why: str, now: int) -> int:
    """End the sessions that are not ended yet; return how many were in use."""
    open_ones = and_(which, _row.ended_at.is_(None))
    rows = list(conn.execute(select(sessions).where(open_ones)))
    # those that ran out too: a clock set back must not bring them to life
    conn.execute(
        update(sessions).where(open_ones).values(ended_at=now, ended_why=why[:_LONGEST_WHY])
    )
    return sum(is_live(row, now) for row in rows)


def _seen(row: AnyRow) -> DeviceSeen:
    ended = None if row.ended_at is None else moment(row.ended_at)
    return DeviceSeen(row.number, row.name, moment(row.made_at), ended)


def all_devices(conn: Connection) -> tuple[DeviceSeen, ...]:
    """Return every device that was made known, oldest first."""
    return tuple(_seen(row) for row in conn.execute(select(devices).order_by(devices.c.number)))


def device_by_token(conn: Connection, token: object) -> DeviceSeen | None:
    """Return the device of a token; None if there is none or it was let go."""
    if not token:
        return None
    query = select(devices).where(devices.c.token_hash == token_hash(token))
    row = conn.execute(query).first()
    return None if row is None or row.ended_at is not None else _seen(row)


def known_device(conn: Connection, token: object) -> DeviceSeen:
    """Return the device of a token.

    Raises
    ------
    WrongState
        If the shop does not know it.
    """
    found = device_by_token(conn, token)
    if found is None:
        raise WrongState("The shop does not know this device; sign in with the password.",
                         where="device")  # fmt: skip
    return found


def device_by_number(conn: Connection, number: int) -> DeviceSeen:
    """Return a device that was not let go.

    Raises
    ------
    NotFound
        If there is none of that number.
    """
    found = next((one for one in all_devices(conn) if one.number == number), None)
    if found is None or found.ended_at is not None:
        raise NotFound(f"No known device has the number {number}.", where="device")
    return found


def keep_device(
    conn: Connection, name: str, token: str, *, by: str | None, now: int
) -> DeviceSeen:  # fmt: skip
    """Write a device that is known from now on."""
    conn.execute(
        insert(devices).values(name=name, token_hash=token_hash(token), made_at=now, by_id=by)
    )
    found = device_by_token(conn, token)
    assert found is not None
    return found


def drop_device(conn: Connection, device: DeviceSeen, now: int) -> None:
    """Let a device go: its sessions end, and its PINs are no more."""
    conn.execute(update(devices).where(devices.c.number == device.number).values(ended_at=now))
    end_sessions(conn, _row.device_number == device.number, "device forgotten", now)
    conn.execute(
        delete(secrets).where(secrets.c.kind == PIN, secrets.c.device_number == device.number)
    )
