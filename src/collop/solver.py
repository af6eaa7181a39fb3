"""HiGHS as every kernel begins with it: silent, one thread, a fixed seed, imported late.

Long work can be stopped by whoever began it: `stoppable` says who is asked, and the next program
that is run raises `Stopped` instead. A program in work is finished first, so that an answer never
depends on when it was looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from typing import Any

from collop.errors import CollopError

__all__ = ["Stopped", "go_on_or_stop", "highspy", "new_solver", "stoppable"]

_asked: ContextVar[Callable[[], bool] | None] = ContextVar("stop_asked", default=None)


class Stopped(CollopError):
    """The work was stopped by whoever waits for it; nothing of it is kept."""


@contextmanager
def stoppable(asked: Callable[[], bool]) -> Iterator[None]:
    """Let the work of the body be stopped.

    Parameters
    ----------
    asked : callable
        Whether it shall stop; called before each program that is run, from any thread.

    Raises
    ------
    Stopped
        Out of the body, once `asked` says so.
    """
    token = _asked.set(asked)
    try:
        yield
    finally:
        _asked.reset(token)


def go_on_or_stop() -> None:
    """Ask whoever waits, before a program is run.

    Raises
    ------
    Stopped
        If the work shall stop.
    """
    asked = _asked.get()
    if asked is not None and asked():
        raise Stopped("Stopped: nothing of what was in work is kept.")


@cache
def highspy() -> Any:  # noqa: ANN401 -- the binding is untyped
    """Return the binding; it loads numpy, which a help text does not need."""
    import highspy as binding  # noqa: PLC0415

    return binding


@cache
def _quiet_class() -> Any:  # noqa: ANN401
    highs = highspy().Highs

    class Quiet(highs):  # type: ignore[misc, valid-type]
        """HiGHS without the callbacks, whose setting up prints a banner to standard output."""

        def __init__(self) -> None:
            super(highs, self).__init__()
            self.setOptionValue("output_flag", False)  # noqa: FBT003 -- positional only

        def run(self) -> Any:  # noqa: ANN401
            """Solve, unless whoever waits for it asked to stop."""
            go_on_or_stop()
            return super().run()

    return Quiet


def new_solver(tolerance: float, options: Mapping[str, object]) -> Any:  # noqa: ANN401
    """Return a solver that gives the same answer for the same program.

    Parameters
    ----------
    tolerance : float
        How far a row or a whole column may be missed.
    options : mapping
        Further options of HiGHS by name; a time limit is none of them.
    """
    solver = _quiet_class()()
    usual = {
        "threads": 1,
        "random_seed": 7,
        "mip_feasibility_tolerance": tolerance,
        "primal_feasibility_tolerance": tolerance,
        "dual_feasibility_tolerance": tolerance,
    }
    for option, value in {**usual, **options}.items():
        solver.setOptionValue(option, value)
    return solver
