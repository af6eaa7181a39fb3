"""What a course rests on, and the core it is cooked to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from collop.reference import cook_minimum

if TYPE_CHECKING:
    from collop.fire.problem import Body, Stage

__all__ = ["SAMPLES", "CourseKey", "minimum_c", "target_c"]

#: Samples a band is told by.
SAMPLES = 1000


@dataclass(frozen=True, slots=True)
class CourseKey:
    """All of an item and its fire that its course rests on, as in `collop.fire.problem`."""

    id: str
    species: str | None
    cook_as: str
    method: str
    minutes: tuple[int, int] | None
    stages: tuple[Stage, ...] | None
    body: Body | None
    done_c: float | None
    rest_min: int
    hold_min: int
    lid: bool
    air_f: int | None


def minimum_c(cook_as: str) -> float | None:
    """Return the published minimum of the core [degC], None for food without a rule."""
    if cook_as == "none":
        return None
    rule = cook_minimum(cook_as)
    # in_celsius rounds half up: never a hair under the rule
    nearest = float(rule.temperature.in_celsius(3))
    exact = rule.temperature.count / 9000 - 273.15
    return nearest if nearest >= exact else round(nearest + 0.001, 3)


def target_c(key: CourseKey) -> float | None:
    """Return the core after the rest [degC]: what is asked, never under the minimum."""
    least = minimum_c(key.cook_as)
    if least is None or key.done_c is None:
        return key.done_c if least is None else least
    return max(least, key.done_c)
