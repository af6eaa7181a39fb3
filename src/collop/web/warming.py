"""Work done once when the counter opens, so that the first tap need not wait for it."""

from __future__ import annotations

import logging
from threading import Event, Thread
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collop.shop import Shop

__all__ = ["Warmer"]

_log = logging.getLogger(__name__)
_ENDS_WITHIN_S = 2.0


class Warmer:
    """Loads the solvers and reckons the minutes of the case, in a thread of its own.

    It writes nothing and is done after a few seconds. What goes wrong is not told to anybody:
    the page that needs the same thing says it.

    Parameters
    ----------
    shop : Shop
        The open shop.
    wait : float
        Seconds until it begins: the server listens first.
    """

    def __init__(self, shop: Shop, *, wait: float = 0.3) -> None:
        self._shop, self._wait = shop, wait
        self._ending = Event()
        self._thread: Thread | None = None

    def start(self) -> None:
        """Begin; a second call does nothing, nor does one after `stop`."""
        if self._thread is None and not self._ending.is_set():
            self._thread = Thread(target=self._run, name="warming", daemon=True)
            self._thread.start()

    def stop(self) -> None:
        """End it before its next step; the one in work is waited for two seconds at most."""
        self._ending.set()
        if self._thread is not None:
            self._thread.join(_ENDS_WITHIN_S)

    def _run(self) -> None:
        self._ending.wait(self._wait)
        for work in (self._offers, _solvers):
            if self._ending.is_set():
                return
            try:
                work()
            except Exception:  # noqa: BLE001 -- nobody waits for it, and the page tells it again
                _log.debug("warming up", exc_info=True)

    def _offers(self) -> None:
        self._shop.offers()


def _solvers() -> None:
    from collop.spread.firing import warm_up  # noqa: PLC0415 -- heavy

    warm_up()
