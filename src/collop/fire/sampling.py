"""How sure a fire is: each sample cooks the whole plan with its own minutes.

Sample `n` of every item is the same fire. Loads go on by the clock, except that one waits where an
earlier load is not done and its place is not free, with a brush over the bars in between. A load
that moves to another zone moves by the clock too, or when its first stage is done if that is later.
What is still on a fire when its time is over is never done: the coals are out.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from collop.errors import BadValue
from collop.fire.laying import LaidLoad, Laying
from collop.fire.problem import Course, FireProblem
from collop.fire.scheduling_loads import CHANGEOVER_MIN, course_for, runs_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["off_minutes", "ready_chance"]

# areas of loads are compared as floats here: nothing is planned from them
_SLACK = 1e-6
# a plan made to the minute counts as in time to the same thousandth
_ON_TIME_MIN = 1e-3


@dataclass(slots=True)
class _Stay:
    """One stay of one load in a zone, with the minutes it takes in each sample."""

    load: int
    zone: str
    start: int
    area: float
    minutes: NDArray[np.float64]


def _stays(problem: FireProblem, courses: Mapping[str, Course], laying: Laying) -> list[_Stay]:
    """Return all stays by planned start."""
    items = {item.id: item for item in problem.items}
    stays = []
    for place, load in enumerate(laying.loads):
        times = course_for(courses, items[load.item]).stages
        if len(times) != len(load.stages):
            raise BadValue(f"{items[load.item].name} has other stages than it was laid with; "
                           "lay it again.")  # fmt: skip
        lengths = tuple(stage.minutes for stage in load.stages)
        zones = tuple(stage.zone for stage in load.stages)
        ends = [sum(lengths[: n + 1]) for n in range(len(lengths))]
        for run in runs_of(zones, lengths):
            inside = [t.minutes for t, end in zip(times, ends, strict=True)
                      if run.begin < end <= run.end]  # fmt: skip
            stays.append(_Stay(place, run.zone, load.start + run.begin, float(load.area_sq_in),
                               sum(inside[1:], inside[0])))  # fmt: skip
    return sorted(stays, key=lambda stay: stay.start)


def _free_from(
    wanted: NDArray[np.float64], area: float, room: float, before: list[_Done]
) -> NDArray[np.float64]:
    """Return the first time from `wanted` at which there is room beside the loads before.

    A place is free `CHANGEOVER_MIN` after a load has left it, as in the plan.
    """
    import numpy as np  # noqa: PLC0415 -- kept out of the import of the command line

    ends = np.stack([done.end for done in before]) + CHANGEOVER_MIN
    areas = np.array([done.area for done in before])

    def used(at: NDArray[np.float64], of: NDArray[np.float64]) -> NDArray[np.float64]:
        on: NDArray[np.float64] = ((of > at) * areas[:, None]).sum(axis=0)
        return on

    late = np.flatnonzero(used(wanted, ends) + area > room + _SLACK)
    if not late.size:
        return wanted
    free = wanted.copy()
    some = ends[:, late]
    best = np.full(late.size, np.inf)
    for end in some:  # a place comes free only when a load leaves
        at = np.maximum(end, wanted[late])
        fits = used(at, some) + area <= room + _SLACK
        best = np.where(fits, np.minimum(best, at), best)
    free[late] = best
    return free


@dataclass(slots=True)
class _Done:
    """A stay that has its end in each sample."""

    area: float
    end: NDArray[np.float64]


def off_minutes(
    problem: FireProblem, courses: Mapping[str, Course], laying: Laying
) -> list[NDArray[np.float64]]:
    """Return when each load comes off in each sample.

    Returns
    -------
    list of array, shape (samples,)
        In the order of `laying.loads` [min from the first serving time]; infinite where it is
        never done.
    """
    import numpy as np  # noqa: PLC0415 -- kept out of the import of the command line

    rooms = {zone.id: zone.area_sq_in for zone in problem.zones}
    stays = _stays(problem, courses, laying)
    out = _out(problem, stays)
    on: dict[str, list[_Done]] = {}
    off: dict[int, NDArray[np.float64]] = {}
    for stay in stays:
        minutes = np.where(np.isfinite(stay.minutes), stay.minutes, math.inf)
        start = np.full(minutes.shape, float(stay.start))
        if stay.load in off:
            start = np.maximum(start, off[stay.load])
        room = rooms[stay.zone]
        before = on.setdefault(stay.zone, [])
        if room is not None and before:
            start = _free_from(start, stay.area, float(room), before)
        end = start + minutes
        # to the thousandth, as a plan made to the minute may use the fire to its last
        off[stay.load] = np.where(end <= out[stay.zone] + _ON_TIME_MIN, end, math.inf)
        before.append(_Done(stay.area, off[stay.load]))
    return [off[place] for place in range(len(laying.loads))]


def _out(problem: FireProblem, stays: list[_Stay]) -> dict[str, float]:
    """Return when each zone is out [min]: so long after its first use as it lasts."""
    lit: dict[str, int] = {}
    for stay in stays:
        lit[stay.zone] = min(stay.start, lit.get(stay.zone, stay.start))
    return {
        zone.id: math.inf if zone.minutes is None else lit.get(zone.id, 0) + zone.minutes
        for zone in problem.zones
    }


def ready_chance(
    problem: FireProblem, courses: Mapping[str, Course], laying: Laying
) -> dict[str, float]:
    """Return the share of samples in which all of each serving is ready in time.

    Parameters
    ----------
    courses : mapping of item id to Course
        All with the same number of samples; sample `n` of each is the same fire.

    Returns
    -------
    dict of serving id to float
        1 for a serving without food. A load of a further round is in time if it has rested when
        that round is eaten.

    Raises
    ------
    BadValue
        If courses have different numbers of samples, or other stages than the plan.
    """
    items = {item.id: item for item in problem.items}
    sizes = {stage.minutes.size for load in laying.loads
             for stage in course_for(courses, items[load.item]).stages}  # fmt: skip
    if len(sizes) > 1:
        raise BadValue("The items have different numbers of samples; draw the same for all.")
    ready: dict[str, NDArray[np.bool_]] = {}
    ends = off_minutes(problem, courses, laying)
    for load, off in zip(laying.loads, ends, strict=True):
        serving = items[load.item].serving
        done = off + _rest(load) <= load.eat + _ON_TIME_MIN
        ready[serving] = ready[serving] & done if serving in ready else done
    return {
        serving.id: float(ready[serving.id].mean()) if serving.id in ready else 1.0
        for serving in problem.servings
    }


def _rest(load: LaidLoad) -> int:
    return load.ready - load.off
