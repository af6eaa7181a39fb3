"""A shop's rows read and changed past its program, as somebody with the database could."""

from __future__ import annotations

import sqlite3
from contextlib import closing, contextmanager

import psycopg

#: What the database itself says to a change that its guards refuse.
REFUSES = (sqlite3.IntegrityError, psycopg.Error)


def database_of(address):
    """Return the name of the database in an address of a server."""
    return address.rpartition("/")[2].partition("?")[0]


class _Hand:
    def __init__(self, conn, mark):
        self._conn, self._mark = conn, mark

    def execute(self, statement, values=()):
        """Run a statement, its values marked by ``?``."""
        if not values:
            return self._conn.execute(statement)
        return self._conn.execute(statement.replace("?", self._mark), values)


@contextmanager
def raw(address, *, guards=True):
    """Yield a connection of the test's own to a shop, each statement kept at once."""
    if address.startswith("sqlite"):
        path = address.removeprefix("sqlite:///")
        with closing(sqlite3.connect(path, isolation_level=None)) as conn:
            found = conn.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
            for (guard,) in found.fetchall() if not guards else ():
                conn.execute(f"DROP TRIGGER {guard}")
            yield _Hand(conn, "?")
        return
    plain = address.partition("?")[0].replace("collop@", "postgres@")
    with psycopg.connect(plain, autocommit=True) as conn:
        if not guards:
            conn.execute("SET session_replication_role = replica")
        conn.execute("SET SESSION AUTHORIZATION collop")
        conn.execute("SET collop.shop = 'one'")
        yield _Hand(conn, "%s")


def past_guards(address, *statements):
    """Run statements, or pairs of a statement and its values, with all guards off."""
    with raw(address, guards=False) as hand:
        for statement in statements:
            hand.execute(*((statement,) if isinstance(statement, str) else statement))
