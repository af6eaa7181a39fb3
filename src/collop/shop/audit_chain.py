"""The chained log: what was done, by whom, on which device, each row sealed with the one before.

A row that is changed, taken out or put in between breaks every seal after it. Who can write the
database can write a whole new chain, so the seal shows tampering only to somebody who kept an older
one: the newest seal stands on the lock-up sheet and in each backup's note.
"""

from __future__ import annotations

import hashlib
import json
import time
from collections.abc import Iterator
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, insert, select, text
from sqlalchemy.engine import Connection

from collop.shop.access_tables import audit
from collop.shop.store import AnyRow
from collop.shop.tables import acts

__all__ = [
    "SIGNED_IN", "SignedInAs", "audit_faults", "is_seal", "log_act", "log_event", "newest_seal",
]  # fmt: skip

_BEGIN = "0" * 64
_LONGEST = 200


@dataclass(frozen=True, slots=True)
class SignedInAs:
    """Whose hands write: the person of the session and the number of a known device."""

    person: str | None = None
    device: int | None = None


#: Set for each request of a signed-in person: an act is theirs, whatever the form says.
SIGNED_IN: ContextVar[SignedInAs] = ContextVar("SIGNED_IN", default=SignedInAs())  # noqa: B039 -- frozen


def _seal(before: str, *parts: object) -> str:
    written = json.dumps([before, *parts], default=str, ensure_ascii=True)
    return hashlib.sha256(written.encode()).hexdigest()


def newest_seal(conn: Connection) -> str:
    """Return the seal of the newest row, 64 hexadecimal digits; zeros if there is none."""
    row = conn.execute(select(audit.c.chain).order_by(audit.c.seq.desc()).limit(1)).first()
    return _BEGIN if row is None else str(row.chain)


def _log(
    conn: Connection, kind: str, what: str, *, at: datetime, by: str | None, key: str | None,
    digest: str, device: int | None = None,
) -> None:  # fmt: skip
    device, utc = device or SIGNED_IN.get().device, int(time.time())
    # a name with a line break or a hidden sign must not look like another row
    what = "".join(one if one.isprintable() else " " for one in what)[:_LONGEST]
    chain = _seal(newest_seal(conn), at.isoformat(), utc, kind, what, by, device, key, digest)
    conn.execute(
        insert(audit).values(
            at=at, utc=utc, kind=kind, what=what, by_id=by, device_number=device, key=key,
            digest=digest, chain=chain,
        )
    )  # fmt: skip


def _act_digest(asked: str, answer: str) -> str:
    return hashlib.sha256(f"{asked}\n{answer}".encode()).hexdigest()


def log_act(
    conn: Connection, what: str, *, at: datetime, by: str | None, key: str, asked: str, answer: str
) -> None:  # fmt: skip
    """Write the row of an act, in its own transaction.

    Parameters
    ----------
    conn : Connection
        The writing connection.
    what : str
        Kind of the act, e.g. ``book``.
    at : datetime
        Shop-local time of the act.
    by : str or None
        Id of the person.
    key : str
        The act's key.
    asked, answer : str
        Digest of the request, and the answer.
    """
    _log(conn, "act", what, at=at, by=by, key=key, digest=_act_digest(asked, answer))


def log_event(
    conn: Connection, kind: str, what: str, *, at: datetime, by: str | None,
    device: int | None = None,
) -> None:  # fmt: skip
    """Write what happened at the door: signed in, refused, signed out, a secret set.

    Parameters
    ----------
    conn : Connection
        The writing connection.
    kind, what : str
        What happened and to whom, in words; never a secret, nor a name somebody typed that nobody
        here has, which may be a password.
    at : datetime
        Shop-local time.
    by : str or None
        Id of the person.
    device : int, optional
        Number of the known device; left out, that of the session.
    """
    _log(conn, kind, what, at=at, by=by, key=None, digest=_BEGIN, device=device)


def is_seal(conn: Connection, seal: str) -> bool:
    """Tell whether a seal or its beginning is in the log; zeros stand for the empty log."""
    if _BEGIN.startswith(seal):
        return True
    query = select(audit.c.seq).where(audit.c.chain.startswith(seal, autoescape=True)).limit(1)
    return conn.execute(query).first() is not None


def _counted(conn: Connection) -> int | None:
    """Return the highest number a row of the log ever had, which the database keeps apart."""
    if conn.dialect.name == "sqlite":
        found = conn.scalar(text("SELECT seq FROM sqlite_sequence WHERE name = 'audit'"))
    else:
        found = conn.scalar(text("SELECT last FROM shop_counts WHERE table_name = 'audit'"))
    return None if found is None else int(found)


def audit_faults(conn: Connection) -> Iterator[str]:
    """Yield one sentence for each row that is changed, gone or put in, and each act that differs.

    Acts from before the log began are left out. The newest rows can be missed only as far as the
    database counts its rows, and as acts stand beside them; an older seal shows the rest.
    """
    before, last, seen = _BEGIN, 0, set()
    kept = {row.key: row for row in conn.execute(select(acts))}
    for row in conn.execute(select(audit).order_by(audit.c.seq)):
        if row.seq != last + 1:
            yield f"Rows {last + 1} to {row.seq - 1} of the log are gone."
        facts = (row.at.isoformat(), row.utc, row.kind, row.what, row.by_id, row.device_number,
                 row.key, row.digest)  # fmt: skip
        if _seal(before, *facts) != row.chain:
            yield f"Row {row.seq} of the log does not fit the row before it."
        before, last = str(row.chain), int(row.seq)
        if row.kind == "act":
            seen.add(row.key)
            if not _is_as_logged(kept.get(row.key), row):
                yield f"The act {row.key!r} is not as the log has it."
    if (counted := _counted(conn)) is not None and counted > last:
        yield f"Rows {last + 1} to {counted} of the log are gone."
    began = conn.scalar(select(func.min(audit.c.at)))
    for key, act in kept.items():
        if began is not None and act.at > began and key not in seen:
            yield f"The act {key!r} is not in the log."


def _is_as_logged(act: AnyRow | None, row: AnyRow) -> bool:
    if act is None or _act_digest(act.digest, act.answer) != row.digest:
        return False
    return (act.kind, act.at, act.by_id) == (row.what, row.at, row.by_id)
