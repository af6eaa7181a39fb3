"""A copy of the shop each day by itself, while the server runs."""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Event, Lock, Thread

from collop.errors import CollopError
from collop.shop.backup import KEPT, backups_in, make_backup
from collop.shop.backup_model import Kept

__all__ = ["Keeper", "Keeping"]

_log = logging.getLogger(__name__)
_DAY = timedelta(hours=24)
#: When nobody sells; local time of the machine.
_AT_HOUR = 3
_AGAIN = timedelta(minutes=15)
_ENDS_WITHIN_S = 60.0


def _utc() -> datetime:
    return datetime.now(tz=UTC)


@dataclass(frozen=True, slots=True)
class Keeping:
    """The newest copy, and what stopped the last try, if anything; `since` is when that was."""

    newest: Kept | None = None
    trouble: str = ""
    since: datetime | None = None


class Keeper:
    """Makes a copy when the newest is a day old, or was made before the last three at night.

    What goes wrong is kept to be shown, logged, and tried again after a quarter of an hour.

    Parameters
    ----------
    path : Path
        File of the shop.
    folder : Path, optional
        Where the copies lie.
    keep : int
        How many are kept.
    clock : callable
        Tells the time, with a zone.
    poll : float
        Seconds between looks.
    """

    def __init__(
        self, path: Path, folder: Path | None = None, *, keep: int = KEPT,
        clock: Callable[[], datetime] = _utc, poll: float = 60.0,
    ) -> None:  # fmt: skip
        self.path, self.folder = path, folder
        self._keep, self._clock, self._poll = keep, clock, poll
        self._ending, self._one = Event(), Lock()
        self._thread: Thread | None = None
        self._state = Keeping()

    @property
    def state(self) -> Keeping:
        """Return how it stands."""
        return self._state

    def kept(self) -> tuple[Kept, ...]:
        """Return the copies that are kept, newest first."""
        return backups_in(self.path, self.folder)

    def start(self) -> None:
        """Begin; a second call does nothing."""
        if self._thread is None and not self._ending.is_set():
            self._thread = Thread(target=self._run, name="keeping", daemon=True)
            self._thread.start()

    def stop(self) -> None:
        """End it; a copy in work is waited for."""
        self._ending.set()
        if self._thread is not None:
            self._thread.join(_ENDS_WITHIN_S)

    def is_due(self) -> bool:
        """Tell whether a copy is due now."""
        now = self._clock()
        if self._state.trouble and self._state.since and now - self._state.since < _AGAIN:
            return False
        noted = [one for one in self.kept() if one.note is not None]
        if not noted:
            return True
        local = now.astimezone()
        night = local.replace(hour=_AT_HOUR, minute=0, second=0, microsecond=0)
        if night > local:
            night -= _DAY
        # the clock may have been set back: a copy of tomorrow does not count as new
        return noted[0].made_at < night or abs(now - noted[0].made_at) >= _DAY

    def make(self) -> Kept:
        """Make a copy now.

        Raises
        ------
        CollopError
            If none could be made; that is kept to be shown too.
        """
        with self._one:
            try:
                made = make_backup(self.path, self.folder, keep=self._keep)
            except CollopError as error:
                self._state = Keeping(self._state.newest, error.message, self._clock())
                _log.error("backup: %s", error.message)
                raise
            self._state = Keeping(made)
            return made

    def _run(self) -> None:
        while not self._ending.wait(self._poll if self._thread_looked else 1.0):
            self._thread_looked = True
            try:
                if self.is_due():
                    self.make()
            except CollopError:
                pass  # kept and logged by `make`
            except Exception as error:  # noqa: BLE001 -- the thread must live to try again
                self._state = Keeping(self._state.newest, f"No backup was made: {error}.",
                                      self._clock())  # fmt: skip
                _log.exception("backup")

    _thread_looked = False
