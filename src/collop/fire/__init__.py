"""The fire: how meat heats, what a published minimum asks, and everything ready in time."""

from __future__ import annotations

from typing import Any

__all__ = ["fire"]


def fire(problem: object) -> dict[str, Any]:
    """Plan a fire: when each thing goes on, turns, comes off, rests and is eaten.

    Parameters
    ----------
    problem : object
        Parsed JSON of the ``collop.fire/1`` contract.

    Returns
    -------
    dict
        The ``collop.fire.plan/1`` plan.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    from collop.fire.kernel import plan_fire  # noqa: PLC0415 -- numpy and the solver are heavy

    return plan_fire(problem)
