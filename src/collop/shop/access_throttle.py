"""Tries at the door: counted for each account, way and known device, with a delay that grows.

After five failures in a row a further try has to wait 1, 2, 4 and up to 60 seconds; one that comes
sooner is not looked at and does not move the delay. The count is stored, so it outlives a restart,
and it is taken before the secret is looked at, so many tries at once are no way around it.

A known device has a count of its own: who guesses from elsewhere cannot keep a person from the
shop's own tablet. Tries for names that nobody has are counted in a few rows that behave as an
account does, so that the answer does not tell which names are right.

Each failure is written in the log, up to `ALARM_AT` for an account and hour; what comes beyond them
is left out, so that a flood of tries fills no disk.

References
----------
.. [1] OWASP Authentication Cheat Sheet (source id OWASPSESS): failures are counted for each
   account, a growing delay is better than a fixed lock, and nobody may be locked out by others.
.. [2] OWASP ASVS 5.0 (source id ASVS5), 6.3.1.
.. [3] That a device that is known is counted apart ("device cookies") is OWASP's too, from memory.
"""

from __future__ import annotations

import hashlib

from sqlalchemy import delete, insert, select, update
from sqlalchemy.engine import Connection

from collop.errors import TooSoon
from collop.shop.access_tables import sign_in_counts
from collop.shop.store import AnyRow

__all__ = [
    "ALARM_AT", "FREE_TRIES", "LONGEST_DELAY_S", "begin_try", "clear_tries", "count_of",
    "delay_after", "drop_counts", "failures_of", "hour_alarms", "look_ahead", "nobody_of",
]  # fmt: skip

#: Failures in a row before the first delay.
FREE_TRIES = 5
#: No account has to wait longer than this.
LONGEST_DELAY_S = 60
#: Failures of one account, way and device within an hour that are told to the owner.
ALARM_AT = 100
_HOUR_S = 3600
_LAST_DOUBLING = 5  # 2**6 is over a minute
_NOBODYS = 32
_counts = sign_in_counts.c


def count_of(person: str, way: str, device: int | None) -> str:
    """Return the name of a count."""
    return f"{way} {device or 0} {person}"


def nobody_of(name: str, way: str, device: int | None) -> str:
    """Return the name of the count for a name that nobody has."""
    digest = hashlib.sha256(name.casefold().encode(errors="surrogatepass")).digest()
    return f"anybody {way} {device or 0} {digest[0] % _NOBODYS}"


def delay_after(failures: int) -> int:
    """Return the seconds to wait after so many failures in a row.

    Examples
    --------
    >>> [delay_after(n) for n in (4, 5, 6, 7, 10, 11, 500)]
    [0, 1, 2, 4, 32, 60, 60]
    """
    beyond = failures - FREE_TRIES
    if beyond < 0:
        return 0
    return LONGEST_DELAY_S if beyond > _LAST_DOUBLING else 2**beyond


def _row(conn: Connection, who: str) -> AnyRow | None:
    return conn.execute(select(sign_in_counts).where(_counts.who == who)).first()


def _wait(row: AnyRow, now: int) -> int:
    # a clock that was set back must not make the delay longer
    return delay_after(row.failures) - (now - row.last_at) if now >= row.last_at else 0


def _hour(row: AnyRow | None, now: int) -> tuple[int, int]:
    """Return failures of the running hour and when it began."""
    if row is None or not 0 <= now - row.hour_from < _HOUR_S:
        return 0, now
    return row.hour_failures, row.hour_from


def _too_soon(wait_s: int) -> TooSoon:
    seconds = f"{wait_s} second{'' if wait_s == 1 else 's'}"
    return TooSoon(f"That was tried too often; try again in {seconds}.", wait_s=wait_s)


def look_ahead(conn: Connection, who: str, now: int) -> None:
    """Refuse a try that is too soon and of which no more is written down.

    Raises
    ------
    TooSoon
        Only beyond `ALARM_AT`: a flood costs a reading, and no writing.
    """
    row = _row(conn, who)
    if row is not None and (wait_s := _wait(row, now)) > 0 and _hour(row, now)[0] >= ALARM_AT:
        raise _too_soon(wait_s)


def begin_try(conn: Connection, who: str, now: int) -> tuple[TooSoon | None, int]:
    """Count a try before it is looked at, or tell that it is too soon.

    Parameters
    ----------
    conn : Connection
        The writing connection; what is counted has to be kept before the secret is looked at.
    who : str
        Name of the count.
    now : int
        Seconds since 1970.

    Returns
    -------
    (TooSoon or None, int)
        The refusal, if there is one, and the failures of the hour with this try.
    """
    row = _row(conn, who)
    hour, since = _hour(row, now)
    refusal = None if row is None or (left := _wait(row, now)) <= 0 else _too_soon(left)
    kept = {"hour_failures": hour + 1, "hour_from": since}
    if row is None:
        conn.execute(insert(sign_in_counts).values(who=who, failures=1, last_at=now, **kept))
        return None, hour + 1
    if refusal is None:
        kept |= {"failures": row.failures + 1, "last_at": now}
    conn.execute(update(sign_in_counts).where(_counts.who == who).values(**kept))
    return refusal, hour + 1


def failures_of(conn: Connection, who: str) -> int:
    """Return the failures in a row of a count."""
    row = _row(conn, who)
    return 0 if row is None else int(row.failures)


def clear_tries(conn: Connection, who: str) -> None:
    """Forget the failures in a row: the try was right. Those of the hour stay, less this one."""
    row = _row(conn, who)
    if row is not None:
        hour = max(0, row.hour_failures - 1)
        conn.execute(
            update(sign_in_counts).where(_counts.who == who).values(failures=0, hour_failures=hour)
        )


def drop_counts(conn: Connection, person: str) -> None:
    """Forget every count of a person: a new password is a new begin."""
    for name in conn.scalars(select(_counts.who)).all():
        if _parts(name)[2] == person:
            conn.execute(delete(sign_in_counts).where(_counts.who == name))


def _parts(name: str) -> tuple[str, str, str]:
    way, _, rest = name.partition(" ")
    device, _, person = rest.partition(" ")
    return way, device, person


def hour_alarms(conn: Connection, now: int) -> list[tuple[str, str]]:
    """Return way and person of each count that reached `ALARM_AT` within the last hour.

    A name that nobody has stands as the way ``anybody``.
    """
    query = select(sign_in_counts).where(_counts.hour_failures >= ALARM_AT).order_by(_counts.who)
    rows = [row for row in conn.execute(query) if 0 <= now - row.hour_from < _HOUR_S]
    return [(way, person) for way, _, person in (_parts(row.who) for row in rows)]
