"""Is the file whole? What the database itself can tell of its pages, keys and rows.

References
----------
.. [1] SQLite documentation: ``PRAGMA integrity_check`` and ``quick_check`` answer ``ok``.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from collop.errors import StorageTrouble

__all__ = ["must_be_sound"]


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
