"""What was taken for granted, and what stands in the way, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from collop.fire.plan_times import whole
from collop.fire.problem import COAL_HEATS, Course, FireProblem, Zone
from collop.fire.schedule import Refusal

__all__ = ["assumptions", "nearest_yes", "why_no"]


def assumptions(problem: FireProblem, courses: Mapping[str, Course]) -> list[dict[str, str]]:
    """Return what the plan rests on, each with the question it answers.

    Facts that were told are repeated, so that a wrong one is seen; what was not told is asked.
    """
    found = [*_of_the_fire(problem), *_of_the_day(problem)]
    found += [one for item in problem.items for one in _of_an_item(problem, item.id, courses)]
    return found


def _line(what: str, ask: str) -> dict[str, str]:
    return {"what": what, "ask": ask}


def _of_the_fire(problem: FireProblem) -> Iterator[dict[str, str]]:
    for zone in problem.zones:
        if zone.area_sq_in is None:
            yield _line(f"{zone.name}: room enough for what goes in.", f"Room in: {zone.name}")
            continue
        yield _line(f"{zone.name}: {_area(zone)}{_lasts(zone)}.", f"Size of: {zone.name}")
    if any(zone.heats & COAL_HEATS for zone in problem.zones):
        lid = "with its lid on" if problem.covered else "open, without a lid"
        yield _line(f"The grill is used {lid}.", "Lid")
    hands = "One person tends" if problem.hands == 1 else f"{problem.hands} people tend"
    yield _line(f"{hands} the fire.", "People at the fire")


def _area(zone: Zone) -> str:
    assert zone.area_sq_in is not None
    square_inches = whole(float(zone.area_sq_in))
    square_cm = whole(float(zone.area_sq_in) * 2.54**2)
    return f"{square_inches:,} sq in ({square_cm:,} sq cm) of it used"


def _lasts(zone: Zone) -> str:
    return "" if zone.minutes is None else f", hot enough for {zone.minutes} min"


def _of_the_day(problem: FireProblem) -> Iterator[dict[str, str]]:
    if problem.air_f is None:
        yield _line("The air stays at or under 90 °F (32 °C).", "Hotter than that")
    if problem.ride_min is None:
        yield _line("The meat is in your refrigerator within an hour.", "Ride home")
    else:
        yield _line(f"The ride home takes {problem.ride_min} min.", "Ride home")


def _of_an_item(
    problem: FireProblem, item_id: str, courses: Mapping[str, Course]
) -> Iterator[dict[str, str]]:
    item = next(one for one in problem.items if one.id == item_id)
    if item.body is None:
        if courses[item_id].source == "shop":
            yield _line(f"{item.name}: minutes as the shop knows them.", f"Size of: {item.name}")
        return
    inches = f"{item.body.thickness_mm / 25.4:.1f}"
    known = "measured" if item.body.measured else "as told"
    yield _line(
        f"{item.name}: {inches} in ({whole(item.body.thickness_mm)} mm) thick, {known}.",
        f"Thickness of: {item.name}",
    )


def why_no(refusal: Refusal) -> list[dict[str, Any]]:
    """Return ``why_no`` of the plan."""
    return [{"limit": one.limit, "item": one.item, "say": one.say} for one in refusal.why]


def nearest_yes(refusal: Refusal) -> list[dict[str, Any]]:
    """Return ``nearest_yes`` of the plan: each change alone makes it possible."""
    return [{"change": one.change, "to": one.to, "say": one.say} for one in refusal.nearest]
