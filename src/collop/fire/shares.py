"""How much of each item's samples the plan covers: dear minutes less, cheap minutes more.

Covering more of a bird's samples costs half an hour, of a chop's two minutes. So each item has a
share of its own, never under the first of `SHARES`, and the joint chance is kept with the fewest
planned minutes that lowering one share after the other finds.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from collop.fire.problem import Course, FireProblem
from collop.fire.scheduling_loads import MOST_MINUTES, course_for, planned_minutes

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["SHARES", "highest_share", "shares_for"]

#: Shares of the samples that planned minutes may cover, from the least to the most.
SHARES = (0.9, 0.92, 0.94, 0.95, 0.96, 0.97, 0.98, 0.985, 0.99, 0.995)


def shares_for(
    problem: FireProblem, courses: Mapping[str, Course], chance: float
) -> dict[str, float]:
    """Return the share of each item so that all of a serving is done in `chance` of the samples.

    Parameters
    ----------
    courses : mapping of item id to Course
        All with the same number of samples; sample `n` of each is the same fire.
    chance : float
        Share of the samples in which no item of a serving takes longer than is planned for it.

    Returns
    -------
    dict of item id to float
        One of `SHARES` each; the highest for all where even they do not keep the chance.

    Notes
    -----
    Begins with the highest share of every item, then lowers the one by a step that saves the most
    minutes for each sample that is lost, as long as the chance is kept. Samples in which a place
    on the grill is not free in time are not seen here; `collop.fire.sampling` counts them.
    """
    found: dict[str, float] = {}
    for serving in problem.servings:
        ids = [item.id for item in problem.items if item.serving == serving.id]
        levels = {
            item.id: _levels(course_for(courses, item))
            for item in problem.items
            if item.serving == serving.id
        }
        found |= _lowered(ids, levels, chance)
    return found


def highest_share(course: Course, most: float) -> float:
    """Return the highest of `SHARES` up to `most` that reaches no sample that is never done."""
    able = [share for share in SHARES if share <= most and planned_minutes(course, share)]
    return max(able, default=SHARES[0])


def _levels(course: Course) -> list[tuple[int, NDArray[np.bool_]]]:
    """Return planned minutes and the samples that are done within them, for each of `SHARES`.

    Shares that reach into the samples that are never done are left out; the first always stands.
    """
    import numpy as np  # noqa: PLC0415 -- kept out of the import of the command line

    total = course.minutes
    levels: list[tuple[int, NDArray[np.bool_]]] = []
    for share in SHARES:
        minutes = planned_minutes(course, share)
        if minutes is None and levels:
            break
        planned = MOST_MINUTES if minutes is None else sum(minutes)
        levels.append((planned, np.asarray(total <= planned)))
    return levels


def _lowered(
    ids: list[str], levels: Mapping[str, list[tuple[int, NDArray[np.bool_]]]], chance: float
) -> dict[str, float]:
    import numpy as np  # noqa: PLC0415

    at = {one: len(levels[one]) - 1 for one in ids}
    if not ids:
        return {}
    needed = math.ceil(chance * len(levels[ids[0]][0][1]) - 1e-9)

    def done(trial: Mapping[str, int]) -> int:
        return int(np.logical_and.reduce([levels[one][trial[one]][1] for one in ids]).sum())

    there = done(at)
    while True:
        best: tuple[float, str] | None = None
        for one in ids:
            if not at[one]:
                continue
            left = done({**at, one: at[one] - 1})
            saved = levels[one][at[one]][0] - levels[one][at[one] - 1][0]
            if left < needed:
                continue
            worth = math.inf if left == there else saved / (there - left)
            if best is None or worth > best[0]:
                best = worth, one
        if best is None:
            return {one: SHARES[level] for one, level in at.items()}
        at[best[1]] -= 1
        there = done(at)
