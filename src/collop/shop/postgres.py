"""PostgreSQL: how an address is read, what a connection is told, and what is said when it fails.

An address is ``postgresql://user@host/database?shop=NAME``. `shop` names the shop in the database
(`collop.shop.tenancy`). `unsafe_sync=1` allows a server that may lose what it said is written, for
tests. `writers=retry` leaves out the lock that orders the writers of a shop, for engines that have
none; then only the database's own proof of order stands, and writers that meet are run again.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from sqlalchemy import text
from sqlalchemy.engine import URL, Connection
from sqlalchemy.exc import DBAPIError, OperationalError

from collop.errors import StorageTrouble

__all__ = [
    "Wishes", "engine_options", "is_passing", "is_postgres", "look_over", "named", "said",
    "settled", "turn",
]  # fmt: skip

#: Longest wait for a lock, seconds.
WAIT_S = 30
_SHOP = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,59}")
_DRIVERS = ("postgresql", "postgres", "postgresql+psycopg")
# A counter whose mains failed must not hold the shop's lock for the hours TCP would wait.
_TOLD = {
    "lock_timeout": f"{WAIT_S}s",
    "idle_in_transaction_session_timeout": "5min",
    "tcp_keepalives_idle": "20",
    "tcp_keepalives_interval": "5",
    "tcp_keepalives_count": "4",
}
_AGAIN = "try again in a moment"
_GONE = f"does not answer; look whether its server runs and is reached, then {_AGAIN}"
# PostgreSQL 15 documentation, appendix A: error codes
_SAID = {
    "25006": "may only be read here; nothing was written: name the server that takes writes",
    "28000": "refuses this user; check the name in the address",
    "28P01": "refuses the password; check it in the address or in PGPASSWORD",
    "3D000": "is not on its server; make it with createdb, or check its name",
    "40001": f"is busy with another writer; {_AGAIN}",
    "40P01": f"is busy with another writer; {_AGAIN}",
    "42501": "does not let this user do that; nothing was written: let its owner do it",
    "53100": "cannot grow, the disk of its server is full; nothing was written: make room",
    "53300": f"has no connection left; {_AGAIN}",
    "55P03": f"is busy with another writer; {_AGAIN}",
    "57014": f"was told to stop; nothing was written: {_AGAIN}",
    "XX001": "is damaged; restore the last backup",
    "XX002": "is damaged; restore the last backup",
}
# libpq gives no code when a connection is refused: only its words tell why
_WORDS = (
    ("starting up", "57P03"), ("shutting down", "57P01"), ("recovery", "57P03"),
    ("password", "28P01"), ('role "', "28000"), ("pg_hba.conf", "28000"),
    ('database "', "3D000"), ("too many", "53300"), ("remaining connection slots", "53300"),
)  # fmt: skip
_PASSING = {"40001", "40P01", "53300", "57P01", "57P02", "57P03", "57P05", "25P03"}
_NO_LOCKS = {"0A000", "42883"}
_WRITTEN_TWICE = "23505"


@dataclass(frozen=True, slots=True)
class Wishes:
    """What an address says beside where the database is.

    `shop` is the shop's name or None; `locks` is false where writers are not ordered by a lock.
    """

    shop: str | None = None
    unsafe_sync: bool = False
    locks: bool = True


def is_postgres(url: URL) -> bool:
    """Whether the address names a PostgreSQL database."""
    return url.drivername in _DRIVERS


def _one(url: URL, name: str) -> str | None:
    value = url.query.get(name)
    if isinstance(value, tuple):
        raise StorageTrouble(f"The address names {name} twice; name it once.")
    return value


def settled(url: URL) -> tuple[URL, Wishes]:
    """Return the address to connect to, and what was wished beside it.

    Raises
    ------
    StorageTrouble
        If a wish is none we know.
    """
    shop, unsafe = _one(url, "shop"), _one(url, "unsafe_sync")
    writers = _one(url, "writers") or "lock"
    if shop is not None and not _SHOP.fullmatch(shop):
        raise StorageTrouble(
            "The address names a shop by 1 to 60 letters, digits, dots, dashes or underscores."
        )
    if writers not in {"lock", "retry"} or unsafe not in {None, "0", "1"}:
        raise StorageTrouble(
            "In the address writers is lock or retry, and unsafe_sync is 0 or 1; correct it."
        )
    plain = url.difference_update_query(["shop", "unsafe_sync", "writers"])
    plain = plain.set(drivername="postgresql+psycopg")
    return plain, Wishes(shop, unsafe == "1", writers == "lock")


def named(url: URL) -> str:
    """Return the database's name and server for sentences, never its password."""
    server = url.host or (url.query.get("host") and "its servers") or "this machine"
    return f"{url.database or url.username or 'postgres'} on {server}"


def engine_options(wishes: Wishes, *, writes: bool) -> dict[str, Any]:
    """Return what `sqlalchemy.create_engine` is told: order of transactions, shop, pool."""
    told = dict(_TOLD)
    if wishes.shop is not None:
        told["collop.shop"] = wishes.shop
    options = " ".join(f"-c {name}={value}" for name, value in told.items())
    return {
        "isolation_level": "SERIALIZABLE" if writes else "REPEATABLE READ",
        "execution_options": {} if writes else {"postgresql_readonly": True},
        "connect_args": {
            "options": options,
            "connect_timeout": 10,
            "keepalives_idle": 20,
            "client_encoding": "UTF8",
        },
        "pool_pre_ping": True,
        "pool_size": 1 if writes else 4,
        "max_overflow": 0 if writes else 12,
    }


def _code(error: BaseException) -> str | None:
    original = getattr(error, "orig", None) or error
    code = getattr(original, "sqlstate", None)
    if code is not None:
        return str(code)
    words = str(original)
    if "FATAL" not in words and "password" not in words:
        return None
    last = words.rsplit("FATAL:", 1)[-1]
    return next((code for word, code in _WORDS if word in last), None)


def _is_lost(error: BaseException) -> bool:
    if isinstance(error, DBAPIError) and error.connection_invalidated:
        return True
    code = _code(error)
    if code is None:
        return isinstance(error, OperationalError) or type(error).__name__ == "OperationalError"
    return code.startswith(("08", "57P"))


def is_passing(error: BaseException, *, locks: bool = True) -> bool:
    """Whether the same work, run again, may well succeed.

    True for a failure to prove an order (40001), a deadlock (40P01), a lost or refused connection
    (08xxx, 57Pxx, no code). Where no lock orders the writers, two of them may also have given the
    same number (23505).
    """
    code = _code(error)
    return code in _PASSING or _is_lost(error) or (not locks and code == _WRITTEN_TWICE)


def said(error: BaseException) -> str | None:
    """Return what to say of an error of the server, without the database's name; None if unknown.

    The server's own words are never passed on where they could hold the address.
    """
    known = _SAID.get(_code(error) or "")
    if known is not None:
        return known
    if _is_lost(error):
        return _GONE
    original = getattr(error, "orig", None) or error
    diag = getattr(getattr(original, "diag", None), "message_primary", None)
    if "hot standby" in str(diag):
        return _SAID["25006"]
    if "connection option" in str(original):
        return "cannot be reached: its address holds a word after ? that nobody knows; correct it"
    return f"refused the work ({diag}); nothing was written" if diag else None


@contextmanager
def turn(connection: Connection, wishes: Wishes) -> Iterator[None]:
    """Wait for this shop's turn to write, before the transaction begins.

    The first statement of a transaction fixes the moment it sees. Had it begun before the wait, it
    would see the shop as it was before the writer it waited for, and fail.
    """
    import psycopg  # noqa: PLC0415 -- only where such a database is used

    if not wishes.locks:
        yield
        return
    driver: Any = connection.connection.driver_connection
    name = f"collop shop {wishes.shop}"
    try:
        driver.autocommit = True
        driver.execute("SELECT pg_advisory_lock(hashtextextended(%s, 0))", [name])
        driver.autocommit = False
    except psycopg.Error as error:
        connection.invalidate()
        if error.sqlstate not in _NO_LOCKS:
            raise
        raise StorageTrouble(
            "This server has no advisory locks; add writers=retry to the address."
        ) from error
    try:
        yield
    finally:
        try:
            driver.autocommit = True
            driver.execute("SELECT pg_advisory_unlock(hashtextextended(%s, 0))", [name])
            driver.autocommit = False
        except psycopg.Error:
            # the server lets go of the lock with the connection
            connection.invalidate()


def look_over(connection: Connection, wishes: Wishes, name: str) -> None:
    """Refuse a server that may lose what it wrote, and a user whom row security does not hold.

    Raises
    ------
    StorageTrouble
        If commits are not synced, or the user is a superuser or passes by row security.
    """
    row = connection.execute(
        text(
            "SELECT rolsuper OR rolbypassrls AS passes, current_setting('row_security') AS rows,"
            " current_setting('synchronous_commit') AS waits, current_setting('fsync') AS syncs,"
            " current_setting('full_page_writes') AS pages"
            " FROM pg_roles WHERE rolname = current_user"
        )
    ).one()
    if row.passes or row.rows != "on":
        raise StorageTrouble(
            f"The user of {name} sees past the walls between shops; use one that is neither"
            " superuser nor has BYPASSRLS, with row_security on."
        )
    off = [
        setting
        for setting, value in (("synchronous_commit", row.waits), ("fsync", row.syncs),
                               ("full_page_writes", row.pages))
        if value == "off"
    ]  # fmt: skip
    if off and not wishes.unsafe_sync:
        raise StorageTrouble(
            f"The server of {name} has {off[0]} off and could lose what it said is written;"
            " turn it on."
        )
