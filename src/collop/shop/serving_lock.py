"""One server on one file: a lock beside the database, let go of by the system if its holder dies.

Commands may work on a shop that is served: its writers wait on the file. Two servers may not:
each would keep pages, plans and the scale of its own, and a restore under a server would take the
file away from below it.

References
----------
.. [1] flock(2): the lock belongs to the open file and ends with the process that holds it.
"""

from __future__ import annotations

import fcntl
import json
import os
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Self, TextIO

from collop.errors import StorageTrouble

__all__ = ["ServingLock"]


def _beside(path: Path) -> Path:
    return path.with_name(f"{path.name}.serving")


class ServingLock:
    """Held while a shop is served or restored.

    Parameters
    ----------
    path : Path
        File of the shop.
    what : str
        What is done meanwhile, for the one who comes second: ``served on 127.0.0.1:8000``.
    """

    def __init__(self, path: Path, what: str) -> None:
        self.path, self.what = path, what
        self._file: TextIO | None = None

    def take(self) -> None:
        """Take the lock.

        Raises
        ------
        StorageTrouble
            If somebody has it: who, since when, and what to do; or if its file cannot be written.
        """
        beside = _beside(self.path)
        try:
            # not "w": the words of the holder must be readable until the lock is ours
            file = beside.open("a+", encoding="utf-8")
        except OSError as error:
            raise StorageTrouble(f"{beside} cannot be written: {error.strerror}.") from None
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            held = _read(file)
            file.close()
            raise StorageTrouble(
                f"{self.path.name} is {held.get('what', 'in use')} already, by process"
                f" {held.get('process', 'unknown')} since {held.get('since', 'an unknown time')};"
                " use that one, or stop it first."
            ) from None
        file.truncate(0)
        since = datetime.now(tz=UTC).astimezone().strftime("%a %d %b %H:%M")
        json.dump({"what": self.what, "process": os.getpid(), "since": since}, file)
        file.flush()
        self._file = file

    def let_go(self) -> None:
        """Let go of the lock; its file stays, empty of words."""
        if self._file is not None:
            self._file.truncate(0)
            self._file.close()
            self._file = None

    def __enter__(self) -> Self:
        self.take()
        return self

    def __exit__(self, *_error: object) -> None:
        self.let_go()


def _read(file: TextIO) -> dict[str, Any]:
    file.seek(0)
    try:
        found = json.loads(file.read(1000))
    except ValueError:
        return {}
    return found if isinstance(found, dict) else {}
