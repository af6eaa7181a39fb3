"""What was taken for granted, and what stands in the way, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from collop.fire.plan_measures import area_words, safety_first, thickness_words
from collop.fire.problem import COAL_HEATS, METHODS, Course, FireProblem, Zone
from collop.fire.schedule import Refusal

__all__ = ["assumptions", "nearest_yes", "why_no"]


def assumptions(problem: FireProblem, courses: Mapping[str, Course]) -> list[dict[str, str]]:
    """Return what the plan rests on, each with the question it answers.

    Facts that were told are repeated, so that a wrong one is seen (a ride that was told stands
    before the fire); what was not told is asked. What can hurt comes first; of the fire only the
    places that something is cooked on.
    """
    found = [*_of_the_fire(problem), *_of_the_day(problem)]
    found += [one for item in problem.items for one in _of_an_item(problem, item.id, courses)]
    return safety_first((one["ask"], one) for one in found)


def _line(what: str, ask: str) -> dict[str, str]:
    return {"what": what, "ask": ask}


def _of_the_fire(problem: FireProblem) -> Iterator[dict[str, str]]:
    wanted = {heat for item in problem.items for heat in METHODS[item.method]}
    used = [zone for zone in problem.zones if zone.heats & wanted]
    for zone in used:
        if zone.area_sq_in is None:
            yield _line(f"{zone.name}: room enough for what goes in.", f"Room in: {zone.name}")
            continue
        area = area_words(float(zone.area_sq_in), problem.unit)
        yield _line(f"{zone.name}: {area} of it used{_lasts(zone)}.", f"Size of: {zone.name}")
    if any(zone.heats & COAL_HEATS for zone in used):
        lid = "with its lid on" if problem.covered else "open, without a lid"
        yield _line(f"The grill is used {lid}.", "Lid")
    hands = "One person tends" if problem.hands == 1 else f"{problem.hands} people tend"
    yield _line(f"{hands} the fire.", "People at the fire")


def _lasts(zone: Zone) -> str:
    return "" if zone.minutes is None else f", hot enough for {zone.minutes} min"


def _of_the_day(problem: FireProblem) -> Iterator[dict[str, str]]:
    if problem.air_f is None:
        warm = "32 °C (90 °F)" if problem.unit == "C" else "90 °F (32 °C)"
        yield _line(f"The air stays at or under {warm}.", "Hotter than that")
    if problem.ride_min is None:
        yield _line("The meat is in your refrigerator within an hour.", "Ride home")


def _of_an_item(
    problem: FireProblem, item_id: str, courses: Mapping[str, Course]
) -> Iterator[dict[str, str]]:
    item = next(one for one in problem.items if one.id == item_id)
    if item.body is None:
        if courses[item_id].source == "shop":
            yield _line(f"{item.name}: minutes as the shop knows them.", f"Size of: {item.name}")
        return
    known = "measured" if item.body.measured else "as told"
    yield _line(
        thickness_words(item.name, item.body.thickness_mm, known, problem.unit),
        f"Thickness of: {item.name}",
    )


def why_no(refusal: Refusal) -> list[dict[str, Any]]:
    """Return ``why_no`` of the plan."""
    return [{"limit": one.limit, "item": one.item, "say": one.say} for one in refusal.why]


def nearest_yes(refusal: Refusal) -> list[dict[str, Any]]:
    """Return ``nearest_yes`` of the plan: each change alone makes it possible."""
    return [{"change": one.change, "to": one.to, "say": one.say} for one in refusal.nearest]
