"""What is frozen goes on the fire only if a published thaw fits before it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

from collop.fire.around_items import hours_text, thaw_of, thaw_refusal
from collop.fire.laying import Laying
from collop.fire.problem import FireItem, FireProblem
from collop.fire.schedule import NearestYes, Reason, Refusal

__all__ = ["unthawed"]


def unthawed(problem: FireProblem, laying: Laying) -> Refusal | None:
    """Return the refusal of a schedule whose frozen food cannot be thawed in time, else None."""
    first_on: dict[str, int] = {}
    for load in laying.loads:
        first_on[load.item] = min(load.start, first_on.get(load.item, load.start))
    why, late = [], []
    for item in problem.items:
        say = thaw_refusal(problem, item, first_on[item.id])
        if say is not None:
            why.append(Reason("thaw", item.id, say))
            late.append(item)
    if not why:
        return None
    return Refusal(tuple(why), tuple(_nearest(problem, late, first_on)))


def _nearest(
    problem: FireProblem, late: list[FireItem], first_on: dict[str, int]
) -> Iterator[NearestYes]:
    delay = max(_missing(problem, item, first_on[item.id]) for item in late)
    moved = _later(problem, delay)
    if all(thaw_refusal(moved, item, first_on[item.id]) is None for item in late):
        at = moved.servings[0].at
        yield NearestYes(
            "serve",
            delay,
            f"Eaten {hours_text(delay)} later, from {at:%a %H:%M} on, it thaws in time.",
        )
    if len(late) < len(problem.items):
        names = ", ".join(item.name for item in late)
        yield NearestYes("leave", [item.id for item in late], f"Without {names} it goes.")


def _missing(problem: FireProblem, item: FireItem, start: int) -> int:
    """Return the minutes that the sooner way of thawing is short of."""
    thaw = thaw_of(problem, item, start)
    assert thaw is not None
    return max(thaw.soonest_min - (thaw.minutes or 0), 1)


def _later(problem: FireProblem, delay: int) -> FireProblem:
    return replace(
        problem,
        servings=tuple(
            replace(one, at=one.at + timedelta(minutes=delay)) for one in problem.servings
        ),
    )
