"""Is the file whole? What the database itself can tell of its pages, keys and rows.

References
----------
.. [1] SQLite documentation: ``PRAGMA integrity_check`` and ``quick_check`` answer ``ok``.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.errors import StorageTrouble
from collop.shop.tables import metadata

__all__ = ["must_be_sound", "unreadable"]


def must_be_sound(path: Path, *, quick: bool = False) -> None:
    """Refuse a file whose pages or keys are damaged.

    Parameters
    ----------
    path : Path
        A SQLite file.
    quick : bool
        Whether indexes are left unread: seconds instead of minutes on a large shop.

    Raises
    ------
    StorageTrouble
        What is wrong and what to do.
    """
    pragma = "quick_check" if quick else "integrity_check"
    try:
        with closing(sqlite3.connect(f"file:{path}?mode=rw", uri=True)) as raw:
            raw.execute("PRAGMA query_only=ON")
            said = [row[0] for row in raw.execute(f"PRAGMA {pragma}(3)")]
            orphans = [] if quick else raw.execute("PRAGMA foreign_key_check").fetchmany(1)
    except (sqlite3.Error, UnicodeDecodeError) as error:
        raise StorageTrouble(
            f"{path.name} is damaged ({error}); nothing was changed: restore the newest backup."
        ) from None
    if said != ["ok"]:
        raise StorageTrouble(
            f"{path.name} is damaged ({said[0].splitlines()[-1]}); nothing was changed: restore the"
            " newest backup."
        )
    if orphans:
        raise StorageTrouble(
            f"{path.name} has a row of {orphans[0][0]} that points to nothing; nothing was"
            " changed: restore the newest backup."
        )


def unreadable(conn: Connection) -> list[str]:
    """Return the tables that hold a row which is no longer what it was, each as a sentence.

    A time that is none is whole for the database, which keeps it as text; it is not for the shop.
    """
    found = []
    for table in metadata.sorted_tables:
        try:
            for _ in conn.execute(select(table)):
                pass
        except (ValueError, LookupError, TypeError) as error:
            found.append(
                f"A row of {table.name} cannot be read ({error}): restore the newest backup."
            )
    return found
