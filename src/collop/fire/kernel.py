"""From the JSON of a fire to its plan: read, time, lay, check, tell."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from collop.errors import CollopError
from collop.fire.around import after_steps, before_steps, cautions, coals
from collop.fire.checker import check_laying, check_waits
from collop.fire.courses import courses_of
from collop.fire.laying import LaidLoad, Laying
from collop.fire.plan_items import plan_item
from collop.fire.plan_steps import clock_steps
from collop.fire.plan_times import load_spans
from collop.fire.plan_words import assumptions, nearest_yes, why_no
from collop.fire.problem import Course, FireProblem
from collop.fire.reading import read_problem
from collop.fire.schedule import Refusal, lay, where_it_waits
from collop.fire.thawed import unthawed

__all__ = ["PLAN_ID", "plan_fire", "tell_plan"]

PLAN_ID = "collop.fire.plan/1"


def plan_fire(value: object) -> dict[str, Any]:
    """Return the plan of a ``collop.fire/1`` problem.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    problem = read_problem(value)
    courses = courses_of(problem)
    found = lay(problem, courses)
    if isinstance(found, Laying):
        found = unthawed(problem, found) or found
    if isinstance(found, Laying):
        faults = check_laying(problem, courses, found)
        faults += check_waits(problem, found, where_it_waits(problem, found))
        if faults:  # a plan that breaks a rule is never shown
            raise CollopError(f"The fire plan failed its check: {faults[0]}")
    return tell_plan(problem, courses, found)


def tell_plan(
    problem: FireProblem, courses: Mapping[str, Course], found: Laying | Refusal
) -> dict[str, Any]:
    """Write a schedule, or its refusal, as the ``collop.fire.plan/1`` plan."""
    laying = found if isinstance(found, Laying) else None
    loads: dict[str, list[LaidLoad]] = {item.id: [] for item in problem.items}
    for load in laying.loads if laying else ():
        loads[load.item].append(load)
    ovens = where_it_waits(problem, laying) if laying else {}
    return {
        "schema": PLAN_ID,
        **_head(problem, found),
        "items": [
            plan_item(problem, item, courses[item.id], loads[item.id], ovens)
            for item in problem.items
        ],
        **(_told(problem, courses, laying, ovens) if laying else _untold(problem)),
        "after": after_steps(problem, laying),
        "cautions": cautions(problem, laying),
        "assumptions": assumptions(problem, courses),
        "why_no": why_no(found) if isinstance(found, Refusal) else [],
        "nearest_yes": nearest_yes(found) if isinstance(found, Refusal) else [],
    }


def _untold(problem: FireProblem) -> dict[str, Any]:
    """Return what a plan that cannot be laid leaves empty; the ride home is told all the same."""
    return {"coals": [], "load": [], "steps": [], "before": before_steps(problem, {})}


def _told(
    problem: FireProblem,
    courses: Mapping[str, Course],
    laying: Laying,
    ovens: Mapping[tuple[str, int], str],
) -> dict[str, Any]:
    """Return what only a schedule can tell: coals, load, steps, and what comes before."""
    first_on: dict[str, int] = {}
    for load in laying.loads:
        first_on[load.item] = min(load.start, first_on.get(load.item, load.start))
    return {
        "coals": coals(problem, laying),
        "load": load_spans(problem, laying.loads),
        "steps": clock_steps(problem, courses, laying, ovens),
        "before": before_steps(problem, first_on, laying),
    }


def _head(problem: FireProblem, found: Laying | Refusal) -> dict[str, Any]:
    """Return what the sheet begins with."""
    laying = found if isinstance(found, Laying) else None
    proven = "gap" if isinstance(found, Refusal) and not found.proven else "optimal"
    eaten = {item.serving for item in problem.items}
    return {
        "name": problem.name,
        "unit": problem.unit,
        "weight_unit": problem.weight_unit,
        "heads": problem.heads,
        "answer": _answer(laying),
        "proof": {
            "status": laying.status if laying else proven,
            "gap_min": laying.gap_min if laying else 0,
        },
        "chance": problem.chance,
        "quantile": laying.quantile if laying else None,
        "serve": [
            {
                "id": serving.id,
                "at": f"{serving.at:%Y-%m-%dT%H:%M}",
                "ready_chance": laying.ready.get(serving.id)
                if laying and serving.id in eaten
                else None,
            }
            for serving in problem.servings
        ],
        "dont_eats": [
            {"what": what, "count": count, "plate": plate} for what, count, plate in problem.notes
        ],
    }


def _answer(laying: Laying | None) -> str:
    if laying is None:
        return "no"
    return "rounds" if laying.late_rounds else "yes"
