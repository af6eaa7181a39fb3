"""What selling a unit of a cut costs the shop elsewhere, read from a cutting plan."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

__all__ = ["worth_sold"]

_LEAVES = ("booked", "sold", "ground", "spoilt", "on_hand")


def worth_sold(cut: Mapping[str, Any], at: int) -> Decimal:
    """Return what a unit of a cut that leaves on a day would have brought otherwise.

    That is the plan's ``parting``; where none of the cut is there that day, such a unit has to be
    kept back before, so that of the last day on which there is some. A cut of which there is none
    up to then has to come in: what one more is worth.

    Parameters
    ----------
    cut : mapping
        One of ``cuts`` of a ``collop.bench.plan/1``.
    at : int
        Day of the plan.

    Returns
    -------
    Decimal
        Money per unit of the plan; below zero where the unit is in the way.
    """
    parting = cut.get("parting") or cut["worth"]
    for day in range(at, -1, -1):
        if any(Decimal(cut["days"][day][name]) for name in _LEAVES):
            return Decimal(parting[day])
    return Decimal(cut["worth"][at])
