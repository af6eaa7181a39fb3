"""Connections: who may read, who may write, and what is said when the disk will not.

SQLite runs with a write-ahead log, ``synchronous=FULL`` and foreign keys on. A writer starts with
``BEGIN IMMEDIATE``, so two counters can never both read the same free weight and then both write;
writers of one process queue for the one writing connection, writers of several processes wait on
the file. Readers have connections of their own that cannot write.

PostgreSQL orders the writers of a shop by a lock and proves the order by SERIALIZABLE; readers see
one moment (REPEATABLE READ, READ ONLY). What passes by itself - a failed proof, a deadlock, a lost
connection - is run again by `Store.run`.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeAlias, TypeVar

from sqlalchemy import Delete, Update, create_engine, event
from sqlalchemy.engine import URL, Connection, Engine, Row, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from collop.errors import BadValue, CollopError, StorageTrouble
from collop.shop import postgres
from collop.shop.access_tables import APPEND_ONLY
from collop.shop.bench_tables import DERIVED

__all__ = ["AnyRow", "Store", "address_of", "engine_for", "sqlite_path", "translated"]

AnyRow: TypeAlias = Row[*tuple[Any, ...]]
_Answer = TypeVar("_Answer")

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
#: A server that is started again answers within this many tries, about ten seconds.
TRIES = 14
_FIRST_PAUSE_S, _LONGEST_PAUSE_S = 0.01, 2.0


def address_of(url: str) -> URL:
    """Return a database address, read.

    Raises
    ------
    StorageTrouble
        If it is none; its words are not repeated if they may hold a password.
    """
    try:
        return make_url(url)
    except ArgumentError:
        told = "This" if "@" in url else repr(url)
        raise StorageTrouble(
            f"{told} is no database address; write it like sqlite:///shop.db or"
            " postgresql://user@host/database?shop=name."
        ) from None


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


def name_of(url: URL) -> str:
    """Return what to call a database in sentences: its file, or its name and server."""
    path = sqlite_path(url)
    return path.name if path else postgres.named(url)


def _trouble(error: Exception, name: str) -> CollopError:
    if "cannot contain NUL" in str(getattr(error, "orig", "")):
        return BadValue("A text holds the sign NUL, which cannot be kept; take it out.")
    if isinstance(error, PoolTimeout):
        return StorageTrouble(f"The database {name} {_SAID[5]}.")
    original = getattr(error, "orig", None) or error
    code = getattr(original, "sqlite_errorcode", None)
    said = _SAID.get(code & 0xFF) if isinstance(code, int) else postgres.said(error)
    said = said or f"refused the work ({original}); nothing was written"
    return StorageTrouble(f"The database {name} {said}.")


def _is_drivers(error: BaseException) -> bool:
    # the lock is asked for on the driver's own connection, whose errors SQLAlchemy does not wrap
    return isinstance(error, DBAPIError | PoolTimeout) or hasattr(error, "sqlstate")


@contextmanager
def translated(name: str) -> Iterator[None]:
    """Turn every database error into one sentence about `name`."""
    try:
        yield
    except Exception as error:
        if not _is_drivers(error):
            raise
        raise _trouble(error, name) from error


#: What must hold on a connection that writes for a commit to outlive a power cut
#: (sqlite.org/pragma.html: synchronous 2 is FULL).
SAFE = {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1}


def _must_be_safe(connection: Any, name: str) -> None:  # noqa: ANN401 -- the driver's own type
    for pragma, wanted in SAFE.items():
        row = connection.execute(f"PRAGMA {pragma}").fetchone()
        if row is None or row[0] != wanted:
            raise StorageTrouble(
                f"The database {name} would not be kept safely ({pragma} is"
                f" {row[0] if row else 'unknown'}, not {wanted}); nothing was changed: bring it"
                " right with collop migrate, or use another SQLite."
            )


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
        if writes and foreign_keys:
            _must_be_safe(connection, name_of(engine.url))

    @event.listens_for(engine, "begin")
    def start(connection: Connection) -> None:
        connection.exec_driver_sql(begin)


def _refuse_edits(_conn: object, statement: object, *_rest: object) -> None:
    if isinstance(statement, Delete) and statement.table in DERIVED:
        return
    if isinstance(statement, Update | Delete) and statement.table in APPEND_ONLY:
        raise StorageTrouble(f"{statement.table} is never edited; write a further entry.")


def _no_driver(url: URL) -> StorageTrouble:
    if postgres.is_postgres(url):
        return StorageTrouble("PostgreSQL needs its driver: pip install 'collop[postgres]'.")
    return StorageTrouble(
        f"No database driver answers to {url.drivername!r}; use sqlite:///shop.db."
    )


def engine_for(url: URL, *, writes: bool, foreign_keys: bool = True) -> Engine:
    """Return an engine whose connections keep the rules above."""
    address, options = url, {"pool_size": 1 if writes else 4, "max_overflow": 0 if writes else 60}
    if postgres.is_postgres(url):
        address, wishes = postgres.settled(url)
        options = postgres.engine_options(wishes, writes=writes)
    try:
        engine = create_engine(address, pool_timeout=_WAIT_S, **options)
    except (ArgumentError, NoSuchModuleError, ImportError):
        raise _no_driver(url) from None
    if engine.dialect.name == "sqlite":
        _on_sqlite(engine, writes=writes, foreign_keys=foreign_keys)
    event.listen(engine, "before_execute", _refuse_edits)
    return engine


def _pause(attempt: int) -> None:
    pause = min(_LONGEST_PAUSE_S, _FIRST_PAUSE_S * 2**attempt)
    time.sleep(pause * random.uniform(0.5, 1.0))  # noqa: S311 -- only to spread the tries


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
        self.url = address_of(url)
        self.name = name_of(self.url)
        self.wishes = postgres.settled(self.url)[1] if postgres.is_postgres(self.url) else None
        self._place: tuple[int, int] | None = None
        self._writer = engine_for(self.url, writes=True)
        self._reader = engine_for(self.url, writes=False)

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """Yield a connection that sees one moment of the shop and cannot write."""
        with translated(self.name), self._sound(), self._reached() as connection:
            yield connection

    @contextmanager
    def _sound(self) -> Iterator[None]:
        """Tell a row that cannot be read for what it is, if the file is damaged."""
        try:
            yield
        except (LookupError, ValueError, TypeError, AttributeError, ArithmeticError) as error:
            path = sqlite_path(self.url)
            if path is not None and not isinstance(error, CollopError):
                from collop.shop.damage import must_be_sound  # noqa: PLC0415 -- it opens a store

                must_be_sound(path)
            raise

    def must_be_safe(self) -> None:
        """Refuse a file that would lose what was answered, before anything is asked of it.

        Raises
        ------
        StorageTrouble
            What is wrong with it, and what to do.
        """
        if self.wishes is None:
            with translated(self.name):
                self._writer.connect().close()
            self._must_be_in_place()

    def _reached(self) -> Connection:
        for attempt in range(TRIES - 1):
            try:
                return self._reader.connect()
            except DBAPIError as error:
                if not self._passes(error):
                    raise
            _pause(attempt)
        return self._reader.connect()

    @contextmanager
    def write(self) -> Iterator[Connection]:
        """Yield the writing connection; all is kept on a clean exit, nothing otherwise.

        What passes by itself is not run again here; `run` does that.
        """
        with translated(self.name), self._sound(), self._begun() as connection:
            yield connection

    @contextmanager
    def _begun(self) -> Iterator[Connection]:
        if self.wishes is None:
            with self._writer.begin() as connection:
                self._must_be_in_place()
                yield connection
            return
        with (
            self._writer.connect() as connection,
            postgres.turn(connection, self.wishes),
            connection.begin(),
        ):
            yield connection

    def _must_be_in_place(self) -> None:
        """Refuse to write into a file that was taken away: it would be gone at closing."""
        path = sqlite_path(self.url)
        if path is None:
            return
        try:
            found = path.stat()
        except OSError:
            found = None
        here = (found.st_dev, found.st_ino) if found else None
        if self._place is None:
            self._place = here
        if here is None or here != self._place:
            raise StorageTrouble(
                f"{self.name} was moved, removed or replaced while it was in use; nothing was"
                " written: put it back, or stop this program and start it again."
            )

    def run(self, work: Callable[[Connection], _Answer]) -> _Answer:
        """Do `work` in one writing transaction, again if what stopped it passes by itself.

        Parameters
        ----------
        work : callable
            Gets the writing connection. It may be run several times, each time from nothing; the
            answer to a commit may also be lost when all was kept, so it must find out by itself
            what an earlier run has kept, as an act does by its key.

        Returns
        -------
        object
            What `work` returns.

        Raises
        ------
        StorageTrouble
            If the database refuses, or still fails after `TRIES` tries.
        """
        for attempt in range(TRIES - 1):
            try:
                with self._sound(), self._begun() as connection:
                    return work(connection)
            except Exception as error:
                if not self._passes(error):
                    if _is_drivers(error):
                        raise _trouble(error, self.name) from error
                    raise
            _pause(attempt)
        with self.write() as connection:
            return work(connection)

    def _passes(self, error: Exception) -> bool:
        if self.wishes is None or isinstance(error, PoolTimeout) or not _is_drivers(error):
            return False
        return postgres.is_passing(error, locks=self.wishes.locks)

    def close(self) -> None:
        """Close every connection."""
        self._writer.dispose()
        self._reader.dispose()
