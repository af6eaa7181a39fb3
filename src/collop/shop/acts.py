"""Writing once: every write is an act with a key, a digest of what was asked, and its answer."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from dataclasses import asdict, dataclass, is_dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound
from collop.shop.access_tables import posts
from collop.shop.audit_chain import SIGNED_IN, log_act
from collop.shop.clock import Clock
from collop.shop.kept_away import note_kept
from collop.shop.model import Person, Settings
from collop.shop.settings import load_settings
from collop.shop.stock import keep_above_zero, keep_mark
from collop.shop.store import Store
from collop.shop.tables import acts, people

__all__ = ["Act", "Room", "all_people", "once", "once_in"]

_KEY_LENGTH = 200


@dataclass(frozen=True, slots=True)
class Room:
    """What every service needs: the database and the time."""

    store: Store
    clock: Clock


@dataclass(frozen=True, slots=True)
class Act:
    """One write in progress: its connection, time, key and person."""

    conn: Connection
    at: datetime
    key: str
    by: str | None
    settings: Settings


def all_people(conn: Connection) -> tuple[Person, ...]:
    """Return everybody who works here or did, by name."""
    newest = (
        select(posts.c.works_here)
        .where(posts.c.person_id == people.c.id)
        .order_by(posts.c.seq.desc())
        .limit(1)
        .scalar_subquery()
    )
    rows = conn.execute(select(people, newest.label("here")).order_by(people.c.name))
    return tuple(Person(row.id, row.name, row.role, row.here is not False) for row in rows)


def _person(conn: Connection, by: str | None) -> str | None:
    if by is None:
        return None
    everybody = all_people(conn)
    wanted = by.strip().casefold()
    names = ", ".join(person.name for person in everybody if person.here) or "nobody yet"
    for person in everybody:
        if wanted in {person.id.casefold(), person.name.casefold()}:
            if not person.here:
                raise NotFound(
                    f"{person.name} works here no more; choose from {names}.", where="by"
                )
            return person.id
    raise NotFound(f"Nobody called {by!r} works here; choose from {names}.", where="by")


def _plain(value: object) -> Any:  # noqa: ANN401 -- JSON is untyped
    if is_dataclass(value) and not isinstance(value, type):
        return asdict(value)
    return str(value)


def digest_of(kind: str, request: object) -> str:
    """Return a digest that is equal for equal requests.

    Raises
    ------
    BadValue
        If the request holds something that cannot be written as JSON.
    """
    try:
        text = json.dumps([kind, request], default=_plain, sort_keys=True)
    except (TypeError, ValueError, RecursionError):
        raise BadValue("The request holds something that is no plain JSON.") from None
    return hashlib.sha256(text.encode()).hexdigest()


def once(
    room: Room, kind: str, request: object, *, by: str | None, key: str, work: Callable[[Act], str]
) -> str:
    """Do `work` in one writing transaction, or return its answer if `key` was done before.

    Parameters
    ----------
    room : Room
        Database and clock.
    kind : str
        Name of the act; part of the digest.
    request : object
        Everything that was asked; the same key with another request is refused.
    by : str or None
        Id or name of the person.
    key : str
        Idempotency key, 1 to 200 characters.
    work : callable
        Does the writes and returns the id that answers the request. It may be run again from
        nothing (`Store.run`), so it changes nothing outside its connection.

    Raises
    ------
    BadValue
        If the key is empty, too long, or was used for another request.
    """

    def write(conn: Connection) -> str:
        return once_in(conn, room, kind, request, by=by, key=key, work=work)[0]

    return room.store.run(write)


def once_in(
    conn: Connection, room: Room, kind: str, request: object, *, by: str | None, key: str,
    work: Callable[[Act], str],
) -> tuple[str, bool]:  # fmt: skip
    """Do `work` as one act of a writing transaction that may hold several, as `once` does.

    Returns
    -------
    (str, bool)
        The answer, and whether the act was done before.
    """
    if not key or len(key) > _KEY_LENGTH:
        raise BadValue("A key of 1 to 200 characters must come with every write.", where="key")
    digest = digest_of(kind, request)
    found = conn.execute(select(acts).where(acts.c.key == key)).first()
    if found is not None:
        if found.digest != digest:
            raise BadValue(
                f"The key {key!r} was used for another request; send this one with a new key.",
                where="key",
            )
        return str(found.answer), True
    by = SIGNED_IN.get().person or by
    act = Act(conn, room.clock.now(), key, _person(conn, by), load_settings(conn))
    answer = work(act)
    keep_above_zero(conn, key)
    conn.execute(
        insert(acts).values(
            key=key, kind=kind, digest=digest, answer=answer, at=act.at, by_id=act.by
        )
    )
    log_act(conn, kind, at=act.at, by=act.by, key=key, asked=digest, answer=answer)
    note_kept(act)
    keep_mark(conn, act.at)
    return answer, False
