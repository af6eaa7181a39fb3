"""How long each heat takes from lighting, and so the first minute at which anything can go on."""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import ceil

from collop.fire.problem import COAL_HEATS, FireProblem, Zone

__all__ = [
    "COALS_MIN",
    "GAS_MIN",
    "OVEN_MIN",
    "PLATE_MIN",
    "RIDE_MIN",
    "first_minute",
    "heating",
    "home_minute",
]

#: From lighting to coals that are covered with ash [min]; common practice, no published source.
COALS_MIN = 30
#: A ride home that nobody told [min]; common practice, no published source.
RIDE_MIN = 30
#: From lighting to hot: gas with its lid down, oven, plate [min]; common practice.
GAS_MIN, OVEN_MIN, PLATE_MIN = 15, 20, 10


def is_gas(zone: Zone) -> bool:
    """Tell by its name whether a grill burns no coals."""
    return re.search(r"\b(gas|propane|electric)\b", zone.name.casefold()) is not None


def heating(zone: Zone, heat: str) -> int:
    """Return the minutes from lighting until a zone can be used at a heat.

    A heat may name the only places that give it, after an ``@``.
    """
    heat = heat.partition(" @ ")[0]
    if heat in COAL_HEATS:
        return GAS_MIN if is_gas(zone) else COALS_MIN
    return {"oven": OVEN_MIN, "plate": PLATE_MIN}.get(heat, 0)


def home_minute(problem: FireProblem) -> int | None:
    """Return when the food can be home: `now`, rounded up, and the ride.

    Returns
    -------
    int or None
        Minutes from the first serving time; None where `now` is not known.
    """
    if problem.now is None:
        return None
    first = min(problem.servings, key=lambda serving: serving.at_min)
    seconds = (problem.now - first.at).total_seconds()
    return ceil(seconds / 60) + first.at_min + (problem.ride_min or 0)


def first_minute(
    problem: FireProblem, heats: Sequence[str], minutes: Sequence[int]
) -> int | None:  # fmt: skip
    """Return the first minute an item can go on: home, and each of its heats lit in time.

    Where several zones give a heat, the quickest counts; the program holds each way through the
    zones to its own.

    Parameters
    ----------
    heats, minutes : sequence
        Its stages in their order, with how long each takes [min].

    Returns
    -------
    int or None
        Minutes from the first serving time; None where `now` is not known.
    """
    home = home_minute(problem)
    if home is None:
        return None
    found, gone = home, 0
    for heat, length in zip(heats, minutes, strict=True):
        lit = min((heating(zone, heat) for zone in problem.zones if heat in zone.heats), default=0)
        found = max(found, home + lit - gone)
        gone += length
    return found
