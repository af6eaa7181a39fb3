"""Planning again by itself: a thread that looks whether the shop moved, and keeps a new plan."""

from __future__ import annotations

import logging
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from threading import Event, Lock, Thread
from typing import TYPE_CHECKING, Any

from collop.errors import CollopError, StorageTrouble
from collop.shop.bench_model import PlanInWork

if TYPE_CHECKING:
    from collop.shop import Shop

__all__ = ["Replanner", "Replanning"]

_log = logging.getLogger(__name__)
#: Shop still moving: so many waits in a row, then it is planned in any case.
_MOST_WAITS = 5
_ENDS_WITHIN_S = 2.0
#: What is being written is waited for: the database is closed next.
_WRITES_WITHIN_S = 60.0


@dataclass(frozen=True, slots=True)
class Replanning:
    """What the thread does now.

    Parameters
    ----------
    what : str
        ``idle``: it has not looked yet. ``working``; ``done``: the newest plan is of the shop as
        it was seen last. ``failed``: it is not, and `trouble` says why.
    since : datetime or None
        Shop-local time at which that began.
    step : str
        While it works: ``reading``, ``planning`` or ``keeping``.
    trouble : str
        One sentence.
    """

    what: str = "idle"
    since: datetime | None = None
    step: str = ""
    trouble: str = ""


class _Ended(Exception):
    """The thread shall end; raised at the next step of a plan, so that none is kept."""


class Replanner:
    """Keeps the cutting plan current while the shop is open.

    One thread, so never two plans at once. It looks every `poll` seconds whether anything moved
    that a plan rests on; if so, and nothing more moves for `wait` seconds, it plans. What could
    not be planned is tried again when the shop has moved on; only if the database did not answer,
    or somebody else's plan was in work, at the next look. After a plan it rests at least as long
    as that took. Two of them on one database do no harm: a plan is derived, and the newest
    counts.

    Parameters
    ----------
    shop : Shop
        The open shop.
    wait, poll : float
        Seconds, above zero.
    """

    def __init__(self, shop: Shop, *, wait: float = 2.0, poll: float = 3.0) -> None:
        self._shop = shop
        self._wait, self._poll = wait, poll
        self._ending, self._lock = Event(), Lock()
        self._state = Replanning()
        self._seen: tuple[Any, ...] | None = None
        self._took = 0.0
        self._thread: Thread | None = None

    @property
    def state(self) -> Replanning:
        """Return what it does now."""
        with self._lock:
            return self._state

    def start(self) -> None:
        """Begin to look; a second call does nothing, nor does one after `stop`."""
        if self._thread is None and not self._ending.is_set():
            self._thread = Thread(target=self._run, name="replanning", daemon=True)
            self._thread.start()

    def stop(self) -> None:
        """End it for good.

        A plan in work is let go of, not kept: it is waited for two seconds at most. One that is
        being written is waited for until it is.
        """
        self._ending.set()
        if self._thread is not None:
            self._thread.join(_ENDS_WITHIN_S)
            # no further plan gets as far as being written once the end is told
            if self._thread.is_alive() and self.state.step == "keeping":
                self._thread.join(_WRITES_WITHIN_S)
            self._thread = None

    def _tell(self, state: Replanning) -> None:
        with self._lock:
            self._state = state

    def _run(self) -> None:
        while not self._ending.is_set():
            self._took = 0.0
            self._safely(self._look)
            self._ending.wait(max(self._poll, self._took))

    def _safely(self, work: Callable[[], None]) -> None:
        """Do one look; whatever goes wrong ends in a sentence, never in a dead thread."""
        try:
            work()
        except _Ended:
            pass
        except (StorageTrouble, PlanInWork) as error:
            self._seen = None  # nothing is wrong with the plan: try again
            self._fail(error.message)
        except CollopError as error:
            self._fail(error.message)
        except Exception:  # noqa: BLE001 -- the thread must live on
            _log.exception("planning again")
            self._fail("The plan could not be worked out; plan again on the Plan page.")

    def _fail(self, sentence: str) -> None:
        self._tell(Replanning("failed", self._shop.now(), trouble=sentence))

    def _look(self) -> None:
        version = self._shop.bench.version()
        if version == self._seen:
            return
        self._seen = version  # what goes wrong from here on is tried again after the next move
        kept = self._shop.bench.newest()
        if kept is None or not kept.is_current:
            self._seen = self._settled(version)
            self._tell(Replanning("working", self._shop.now()))
            began = time.monotonic()
            try:
                self._shop.bench.refresh(step=self._step)
            finally:
                self._took = time.monotonic() - began
        self._tell(Replanning("done", self._shop.now()))

    def _settled(self, version: tuple[Any, ...]) -> tuple[Any, ...]:
        """Wait until nothing moves any more, but not for ever; return the version then."""
        for _ in range(_MOST_WAITS):
            if self._ending.wait(self._wait):
                raise _Ended
            now = self._shop.bench.version()
            if now == version:
                break
            version = now
        return version

    def _step(self, step: str) -> None:
        if self._ending.is_set():
            raise _Ended
        self._tell(replace(self.state, step=step))
