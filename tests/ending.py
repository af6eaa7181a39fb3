"""A guard against work that does not end. It is no measure of speed: `benchmarks/` has those."""

from __future__ import annotations

import signal
from contextlib import contextmanager

LONGEST_S = 120


@contextmanager
def that_ends():
    """Fail what is still under way after two minutes, on however slow a machine."""

    def over(_signal, _frame):
        raise AssertionError(f"it had not ended after {LONGEST_S} s")

    before = signal.signal(signal.SIGALRM, over)
    signal.alarm(LONGEST_S)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)
