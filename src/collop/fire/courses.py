"""How long each thing takes, as bands: from the heat model, or from the shop's own minutes.

`course_of` picks the core at which a piece comes off, runs the model, and keeps every published
minimum: a bird or mince comes off at its minimum and no sooner; a whole cut too, unless a core
above the minimum was asked for, when it may come off lower by the rise of its rest, yet never under
the minimum. So its published rest is a rest at the minimum.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from collop.fire.clocks import hold_minutes, rest_minutes
from collop.fire.courses_key import SAMPLES, CourseKey, minimum_c

if TYPE_CHECKING:
    from collop.fire.problem import Course, FireItem, FireProblem

__all__ = ["SAMPLES", "course_of", "courses_of", "minimum_c"]


def course_of(item: FireItem, problem: FireProblem, *, samples: int = SAMPLES) -> Course:
    """Return how an item cooks on the fire of the problem.

    Parameters
    ----------
    item : FireItem
        Its body wins for times, then its stages, then its minutes.
    problem : FireProblem
        Whether the grill is covered, and the weather.
    samples : int
        How many evenings the bands rest on.

    Returns
    -------
    Course
        Its arrays have shape (samples,) and are read only. The same sample of every item of one
        call or another is cooked on the same fire.

    Raises
    ------
    BadValue
        If the fire cannot bring the piece to its core, or nothing tells its time.
    """
    key = CourseKey(
        id=item.id,
        species=item.species,
        cook_as=item.cook_as,
        method=item.method,
        minutes=item.minutes,
        stages=item.stages,
        body=item.body,
        done_c=item.done_c,
        rest_min=rest_minutes(item),
        hold_min=hold_minutes(item),
        lid=problem.covered,
        air_f=problem.air_f,
    )
    return _course(key, samples)


def courses_of(problem: FireProblem, *, samples: int = SAMPLES) -> dict[str, Course]:
    """Return the courses of all items of a problem by their ids; errors as `course_of`."""
    return {item.id: course_of(item, problem, samples=samples) for item in problem.items}


@lru_cache(maxsize=512)
def _course(key: CourseKey, samples: int) -> Course:
    from collop.fire.courses_making import make_course  # noqa: PLC0415 -- numpy is heavy

    return make_course(key, samples)
