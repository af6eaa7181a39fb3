"""Connections: who may read, who may write, and what is said when the disk will not.

SQLite runs with a write-ahead log, ``synchronous=FULL`` and foreign keys on. A writer starts with
``BEGIN IMMEDIATE``, so two counters can never both read the same free weight and then both write;
writers of one process queue for the one writing connection, writers of several processes wait on
the file. Readers have connections of their own that cannot write.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeAlias

from sqlalchemy import Delete, Update, create_engine, event, select
from sqlalchemy.engine import URL, Connection, Engine, Row, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from collop.errors import StorageTrouble
from collop.shop.access_tables import APPEND_ONLY
from collop.shop.bench_tables import DERIVED
from collop.shop.tables import settings

__all__ = ["AnyRow", "Store", "engine_for", "sqlite_path", "translated"]

AnyRow: TypeAlias = Row[*tuple[Any, ...]]

_WAIT_S = 30.0
_ASK_AGAIN = "try again in a moment"
# primary result codes of SQLite (sqlite.org/rescode.html)
_SAID = {
    5: f"is busy with another writer; {_ASK_AGAIN}",
    6: f"is busy with another writer; {_ASK_AGAIN}",
    8: "may only be read; nothing was written: give this account the right to write to it",
    10: "cannot be read or written by the disk; check the disk, then restore a backup",
    11: "is damaged; restore the last backup",
    13: "cannot grow, the disk is full; nothing was written: make room and try again",
    14: "cannot be opened; check that its folder exists and may be written to",
    26: "is not a collop shop; check the file name",
}


def sqlite_path(url: URL) -> Path | None:
    """Return the file of a SQLite address, or None for other databases.

    Raises
    ------
    StorageTrouble
        If the address names no file: a shop in memory would be lost at closing.
    """
    if url.get_backend_name() != "sqlite":
        return None
    name = (url.database or "").removeprefix("file:")
    if not name or name == ":memory:":
        raise StorageTrouble("A shop needs a file; write the address like sqlite:///shop.db.")
    return Path(name)


def _trouble(error: Exception, name: str) -> StorageTrouble:
    if isinstance(error, PoolTimeout):
        return StorageTrouble(f"The database {name} {_SAID[5]}.")
    original = getattr(error, "orig", None)
    code = getattr(original, "sqlite_errorcode", None)
    said = _SAID.get(code & 0xFF) if isinstance(code, int) else None
    said = said or f"refused the work ({original or error}); nothing was written"
    return StorageTrouble(f"The database {name} {said}.")


@contextmanager
def translated(name: str) -> Iterator[None]:
    """Turn every database error into one sentence about `name`."""
    try:
        yield
    except (DBAPIError, PoolTimeout) as error:
        raise _trouble(error, name) from error


def _on_sqlite(engine: Engine, *, writes: bool, foreign_keys: bool) -> None:
    pragmas = [
        f"PRAGMA busy_timeout={int(_WAIT_S * 1000)}",
        "PRAGMA synchronous=FULL",
        f"PRAGMA foreign_keys={'ON' if foreign_keys else 'OFF'}",
    ]
    if not writes:
        pragmas.append("PRAGMA query_only=ON")
    begin = "BEGIN IMMEDIATE" if writes else "BEGIN"

    @event.listens_for(engine, "connect")
    def prepare(connection: Any, _record: object) -> None:  # noqa: ANN401 -- the driver's own type
        connection.isolation_level = None  # the driver must not begin by itself
        for pragma in pragmas:
            connection.execute(pragma).close()

    @event.listens_for(engine, "begin")
    def start(connection: Connection) -> None:
        connection.exec_driver_sql(begin)


def _refuse_edits(_conn: object, statement: object, *_rest: object) -> None:
    if isinstance(statement, Delete) and statement.table in DERIVED:
        return
    if isinstance(statement, Update | Delete) and statement.table in APPEND_ONLY:
        raise StorageTrouble(f"{statement.table} is never edited; write a further entry.")


def engine_for(url: URL, *, writes: bool, foreign_keys: bool = True) -> Engine:
    """Return an engine whose connections keep the rules above."""
    size, more = (1, 0) if writes else (4, 60)
    try:
        engine = create_engine(url, pool_size=size, max_overflow=more, pool_timeout=_WAIT_S)
    except (ArgumentError, NoSuchModuleError, ImportError):
        raise StorageTrouble(
            f"No database driver answers to {url.drivername!r}; use sqlite:///shop.db."
        ) from None
    if engine.dialect.name == "sqlite":
        _on_sqlite(engine, writes=writes, foreign_keys=foreign_keys)
    event.listen(engine, "before_execute", _refuse_edits)
    return engine


class Store:
    """One shop's database.

    Parameters
    ----------
    url : str
        SQLAlchemy address, e.g. ``sqlite:///shop.db``.

    Raises
    ------
    StorageTrouble
        If the address is no database address.
    """

    def __init__(self, url: str) -> None:
        try:
            self.url = make_url(url)
        except ArgumentError:
            raise StorageTrouble(
                f"{url!r} is no database address; write it like sqlite:///shop.db."
            ) from None
        path = sqlite_path(self.url)
        self.name = path.name if path else self.url.render_as_string(hide_password=True)
        self._writer = engine_for(self.url, writes=True)
        self._reader = engine_for(self.url, writes=False)

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """Yield a connection that sees one moment of the shop and cannot write."""
        with translated(self.name), self._reader.connect() as connection:
            yield connection

    @contextmanager
    def write(self) -> Iterator[Connection]:
        """Yield the writing connection; all is kept on a clean exit, nothing otherwise."""
        with translated(self.name), self._writer.begin() as connection:
            # other databases than SQLite queue their writers on this row
            connection.execute(select(settings.c.name).with_for_update())
            yield connection

    def close(self) -> None:
        """Close every connection."""
        self._writer.dispose()
        self._reader.dispose()
