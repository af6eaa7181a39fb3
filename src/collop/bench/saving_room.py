"""Nights on which the case has to hold more than it is meant to."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

from collop.bench.telling import weight_text
from collop.bench.ways import STEP

if TYPE_CHECKING:
    from collop.bench.plan import Found

__all__ = ["roomed"]


def roomed(found: Found, plan: dict[str, Any]) -> dict[str, Any]:
    """Return the plan with the weight `over` the room of the case each night, shape (days,).

    An assumption names those nights.  A thousandth a cut is not named: sales are cut off at it.
    """
    problem = found.problem
    room = problem.case_room
    if room is None:
        return plan
    stocks = found.flows.cuts.values()
    nights = [
        sum((stock.days[day].on_hand for stock in stocks), Fraction(0))
        for day in range(len(problem.days))
    ]
    over = [max(Fraction(0), there - room) for there in nights]
    full = [
        f"{weight_text(nights[day])} {problem.unit} on {problem.days[day].date:%a} night"
        for day, more in enumerate(over) if more > STEP * len(problem.cuts)
    ]  # fmt: skip
    told = {**plan, "case_room": {**plan["case_room"], "over": [weight_text(one) for one in over]}}
    if full:
        say = (
            f"The case holds {weight_text(room)} {problem.unit} and must hold {_listed(full)}: "
            "no way to cut keeps within it."
        )
        told["assumptions"] = [*plan["assumptions"], say]
    return told


def _listed(parts: list[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
