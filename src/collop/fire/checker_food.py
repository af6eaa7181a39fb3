"""The part of the second look that keeps food from being under its minimum."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction

from collop.fire.laying import LaidLoad
from collop.fire.problem import Course, FireItem
from collop.reference import cook_minimum

__all__ = ["check_course", "check_minutes"]

# a float of degC may miss the exact figure by this much [K]
_ROUNDING = 1e-6


def check_course(item: FireItem, course: Course) -> Iterator[str]:
    """Yield where a course stays under the published minimum of its item.

    Parameters
    ----------
    item : FireItem
        Its `cook_as` names the rule: whole, ground or poultry; none without a rule.
    course : Course

    References
    ----------
    .. [1] USDA FSIS, Safe minimum internal temperatures. Source id ``FSIS_MIN``.
    """
    if item.cook_as == "none":
        return
    least = cook_minimum(item.cook_as)
    exact = float(least.temperature.in_celsius(9)) - _ROUNDING
    if course.target_c is None or not course.target_c >= exact:
        yield f"{item.name} is aimed under its published minimum of {least.text()}."
    # the rise in the rest is never counted on: it comes off at its minimum or above
    if course.pull_c is None or not course.pull_c >= exact:
        yield f"{item.name} comes off under its published minimum of {least.text()}."
    if course.rest_min < least.rest_min:
        yield f"{item.name} rests {course.rest_min} min; the published rest is {least.rest_min}."


def check_minutes(item: FireItem, course: Course, load: LaidLoad, quantile: float) -> Iterator[str]:
    """Yield where a stage is shorter than the share of samples it claims to cover.

    Parameters
    ----------
    quantile : float
        Share of the samples.
    """
    if len(load.stages) != len(course.stages):
        yield f"{item.name} is laid in {len(load.stages)} stages, not {len(course.stages)}."
        return
    for stage, wanted in zip(load.stages, course.stages, strict=True):
        if stage.heat != wanted.heat:
            yield f"{item.name} is laid on {stage.heat} heat, not {wanted.heat}."
        done = sum(1 for minutes in wanted.minutes.tolist() if minutes <= stage.minutes)
        if done < math.ceil(Fraction(str(quantile)) * wanted.minutes.size):
            yield (f"{item.name} is given {stage.minutes} min on {stage.heat} heat, which is "
                   f"enough in {done} of {wanted.minutes.size} samples only.")  # fmt: skip
