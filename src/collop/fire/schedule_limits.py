"""Fires with one limit changed, to find out by solving which one stands in the way."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import replace
from datetime import timedelta
from fractions import Fraction

from collop.fire.problem import Course, FireItem, FireProblem, StageTime, Zone
from collop.fire.scheduling import solve

__all__ = [
    "LATEST_MIN", "goes", "in_oven", "later", "least", "limits_of", "longer_coals", "longer_holds",
    "more_hands", "relaxed", "wider", "without",
]  # fmt: skip

#: Latest a meal is put off to [min].
LATEST_MIN = 1440
_MANY = 1_000
# work for one try, about a fifth of a second, counted in steps
_WORK = 0.02


def goes(
    problem: FireProblem,
    courses: Mapping[str, Course],
    quantile: float,
    *,
    rounds: bool | None = None,
) -> tuple[bool | None, float]:
    """Tell whether a fire can be laid at all, and the work it took to find out.

    Notes
    -----
    Little work is allowed: None where it did not tell.
    """
    further = problem.waves if rounds is None else rounds
    found = solve(problem, courses, quantile, spread=True, rounds=further, work=_WORK, first=True)
    if found.loads or not problem.items:
        return True, found.work
    return (False if found.status == "none" else None), found.work


def least(test: Callable[[int], bool], low: int, high: int) -> int | None:
    """Return the least whole number from `low` to `high` that passes, by halving; None if none.

    Examples
    --------
    >>> least(lambda n: n * n > 50, 1, 20)
    8
    """
    if low > high or not test(high):
        return None
    while low < high:
        middle = (low + high) // 2
        if test(middle):
            high = middle
        else:
            low = middle + 1
    return high


def limits_of(problem: FireProblem) -> list[str]:
    """Return the limits there are, as `relaxed` names them."""
    there = {"hold", "hands"}
    there |= {"area" for zone in problem.zones if zone.area_sq_in is not None}
    there |= {"minutes" for zone in problem.zones if zone.minutes is not None}
    there |= set() if problem.now is None else {"now"}
    return [name for name in ("area", "minutes", "hold", "hands", "now") if name in there]


def relaxed(
    problem: FireProblem, courses: Mapping[str, Course], limits: Collection[str]
) -> tuple[FireProblem, Mapping[str, Course]]:
    """Return a fire without some of its limits.

    Parameters
    ----------
    limits : collection of str
        Of ``area``, ``minutes``, ``hold``, ``hands`` and ``now``.
    """
    zones = problem.zones
    if "area" in limits:
        zones = tuple(replace(zone, area_sq_in=None) for zone in zones)
    if "minutes" in limits:
        zones = tuple(replace(zone, minutes=None) for zone in zones)
    return (
        replace(problem, zones=zones, hands=_MANY if "hands" in limits else problem.hands,
                now=None if "now" in limits else problem.now),
        longer_holds(courses, LATEST_MIN) if "hold" in limits else courses,
    )  # fmt: skip


def wider(problem: FireProblem, tenths: int) -> FireProblem:
    """Return a fire with its areas times `tenths` / 10."""
    zones = tuple(
        zone if zone.area_sq_in is None
        else replace(zone, area_sq_in=zone.area_sq_in * Fraction(tenths, 10))
        for zone in problem.zones
    )  # fmt: skip
    return replace(problem, zones=zones)


def longer_coals(problem: FireProblem, minutes: int) -> FireProblem:
    """Return a fire that lasts at least `minutes` [min]."""
    zones = tuple(
        zone if zone.minutes is None else replace(zone, minutes=max(zone.minutes, minutes))
        for zone in problem.zones
    )
    return replace(problem, zones=zones)


def longer_holds(courses: Mapping[str, Course], more: int) -> dict[str, Course]:
    """Return courses that may wait `more` minutes longer [min]."""
    return {
        name: replace(course, hold_min=course.hold_min + more) for name, course in courses.items()
    }


def more_hands(problem: FireProblem, hands: int) -> FireProblem:
    """Return a fire with other people at it."""
    return replace(problem, hands=hands)


def later(problem: FireProblem, minutes: int) -> FireProblem:
    """Return a fire that is eaten later by `minutes`: the same as one that is asked earlier."""
    assert problem.now is not None
    return replace(problem, now=problem.now - timedelta(minutes=minutes))


def without(problem: FireProblem, gone: Collection[str]) -> FireProblem:
    """Return a fire without some items."""
    return replace(problem, items=tuple(item for item in problem.items if item.id not in gone))


def in_oven(
    problem: FireProblem, courses: Mapping[str, Course], item: FireItem
) -> tuple[FireProblem, dict[str, Course]]:
    """Return a fire with one item in an oven for as long as it takes on the fire."""
    stages = tuple(StageTime("oven", stage.minutes) for stage in courses[item.id].stages)
    zones = problem.zones
    if not any("oven" in zone.heats and not zone.meat_free for zone in zones):
        zones = (*zones, Zone("an oven", "Oven", frozenset({"oven"}), None))
    changed = replace(courses[item.id], stages=stages)
    return replace(problem, zones=zones), {**courses, item.id: changed}
