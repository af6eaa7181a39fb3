"""HiGHS as every kernel begins with it: silent, one thread, a fixed seed, imported late."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

__all__ = ["highspy", "new_solver"]


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
