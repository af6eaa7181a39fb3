"""Trim into mince and links: how much of each bin goes into each recipe, at the least cost.

All recipes draw on the same bins, so they are worked out together in one linear program.  The
published limits of a recipe's name are always among its rows.  The plan is in thousandths of the
unit, checked in exact fractions; see `docs/blend.md`.

References
----------
.. [1] Least-cost blending of meats by linear programming, as in a manual of 1966; the standards are
   cited row by row, see `collop.bench.blending_standards`.
"""

from __future__ import annotations

from typing import Any

from collop.bench.blending_amounts import plain
from collop.bench.blending_bounds import Bound, bounds_of
from collop.bench.blending_nearest import nearest_yes
from collop.bench.blending_problem import Blend
from collop.bench.blending_program import Answer, Model, solve
from collop.bench.blending_reading import read_blend
from collop.bench.blending_recipe import Weighed, bins_json, recipe_json, recipe_minor
from collop.bench.blending_rounding import in_thousandths
from collop.bench.blending_standards import rests_on

__all__ = ["PLAN_ID", "blend"]

PLAN_ID = "collop.blend.plan/1"


def blend(problem: object) -> dict[str, Any]:
    """Work out the blend of least cost; see `docs/blend.md`.

    Parameters
    ----------
    problem : object
        The ``collop.blend/1`` object.

    Returns
    -------
    dict
        The ``collop.blend.plan/1`` object: money and weights as decimal texts, shares as numbers.
        Its ``answer`` is ``no`` where the limits cannot all be kept; ``no`` then tells what would
        have to give.

    Raises
    ------
    ProblemError
        If the problem cannot be read, or a recipe goes over a published limit.
    PlanRejected
        If the blend could not be proven or weighed out; no plan is then shown.
    """
    asked = read_blend(problem)
    bounds = bounds_of(asked)
    model = Model.of(asked, bounds)
    answer = solve(model)
    if answer is None:
        return _refused(asked, bounds)
    mixed = in_thousandths(asked, bounds, model, answer)
    weighed = Weighed(asked, bounds, model, answer, mixed)
    cost, takings = recipe_minor(weighed)
    frame = asked.frame
    return {
        **_head(asked),
        "answer": "yes",
        "cost": frame.of_minor(sum(cost)),
        "takings": frame.of_minor(sum(takings)) if any(r.price for r in asked.recipes) else None,
        "proof": _proof(asked, answer),
        "recipes": [recipe_json(weighed, r) for r in range(len(asked.recipes))],
        "bins": bins_json(weighed),
        "no": None,
        "assumptions": [*_assumed(asked), *asked.notes],
    }


def _head(asked: Blend) -> dict[str, Any]:
    frame = asked.frame
    return {
        "schema": PLAN_ID,
        "name": frame.name,
        "currency": frame.currency,
        "rounding": frame.rounding.value,
        "unit": frame.unit,
    }


def _proof(asked: Blend, answer: Answer) -> dict[str, str]:
    gap = max(answer.cost - answer.bound, answer.cost * 0)
    return {
        "status": "optimal",
        # before weights are rounded to thousandths; takings of what need not be made taken off
        "objective": plain(answer.cost, 9),
        "bound": plain(answer.bound, 9),
        "gap": asked.frame.unit_money(gap),
    }


def _refused(asked: Blend, bounds: tuple[Bound, ...]) -> dict[str, Any]:
    """Return the plan of a blend that cannot be: no, and what would have to give."""
    nearest = nearest_yes(asked, bounds)
    published = [
        f"{one.published.row.requirement}: {plain(one.share * 100)} % at the most "
        f"({rests_on(one.published.row)})"
        for one in bounds
        if one.published
    ]
    if nearest:
        say = f"No blend keeps every limit. {nearest[0]['say']}"
    elif published:
        say = "No blend keeps every limit, and a published one stands in the way: use leaner trim."
    else:
        say = "No blend of these bins keeps every limit; use other trim, or make less."
    return {
        **_head(asked),
        "answer": "no",
        "cost": None,
        "takings": None,
        "proof": None,
        "recipes": [],
        "bins": [],
        "no": {"say": say, "nearest": nearest, "published": published},
        "assumptions": [*_assumed(asked), *asked.notes],
    }


def _assumed(asked: Blend) -> list[str]:
    notes = ["Fat and protein of each bin are as given; what is added is taken to hold neither."]
    if any(one.standard for one in asked.recipes):
        notes.append(
            "Published limits are of the finished weight and never passed; your local code comes "
            "first."
        )
    if any(one.make is None for one in asked.recipes):
        notes.append("What has a price and no weight wanted is made as long as it pays.")
    return notes
