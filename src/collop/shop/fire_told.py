"""How a line of the case cooks now, as its page tells it."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from collop.errors import BadValue
from collop.fire.clocks import hold_minutes, rest_minutes
from collop.fire.methods import way_for
from collop.reference import CookMinimum
from collop.shop.fire_cooks import (
    ORDINARY,
    cook_as_told,
    cook_rule,
    minutes_of,
    ordinary_item,
)
from collop.shop.fire_model import CaseCook, CookChange
from collop.shop.model import CaseLine

__all__ = ["CookTold", "told_of"]


@dataclass(frozen=True, slots=True)
class CookTold:
    """How a line cooks on an ordinary covered grill.

    Attributes
    ----------
    line : CaseLine
        With its `cook`, None if nobody told.
    method : str or None
        One of `collop.fire.problem.METHODS`; None if it is not cooked at a fire.
    minutes : (int, int) or None
        10 and 90 in a hundred [min]; None if nobody knows.
    usual_min : int or None
        The middle of it [min]; None where the minutes are the shop's.
    by_model : bool
        Whether the minutes are those of the heat model.
    rest_min, hold_min : int or None
        As the sheet plans them [min]; None where the form of the piece is not known.
    off : (int, int) or None
        Core at which it comes off the fire [degF, degC], as the sheet prints it.
    minimum : CookMinimum or None
        The published one.
    notes : tuple of str
        What the heat model took for granted.
    changes : tuple of CookChange
        What was said of it, the newest first.
    """

    line: CaseLine
    method: str | None
    minutes: tuple[int, int] | None
    usual_min: int | None
    by_model: bool
    rest_min: int | None
    hold_min: int | None
    off: tuple[int, int] | None
    minimum: CookMinimum | None
    notes: tuple[str, ...]
    changes: tuple[CookChange, ...]


def told_of(line: CaseLine, changes: tuple[CookChange, ...]) -> CookTold:
    """Return how a line cooks; `changes` are what was said of it."""
    import numpy as np  # noqa: PLC0415 -- heavy, and only needed where a body is known

    from collop.fire.courses import course_of  # noqa: PLC0415

    cook = line.cook
    way = way_for(line.method, None if cook is None else cook.method)
    item = ordinary_item(line)
    notes: tuple[str, ...] = ()
    try:
        course = None if item is None else course_of(item, ORDINARY)
    except BadValue as error:  # told before the model refused such a piece: say it, keep the page
        course, notes = None, (error.message,)
    by_model = course is not None and course.source == "model"
    rule = cook_rule(cook, cook_as_told(line))
    return CookTold(
        line=line,
        method=None if way is None else way.grill,
        minutes=minutes_of(line) if by_model or line.minutes[1] else None,
        usual_min=round(float(np.median(course.minutes))) if course and by_model else None,
        by_model=by_model,
        rest_min=rest_minutes(item) if item else _maybe(cook, "rest_min"),
        hold_min=hold_minutes(item) if item else _maybe(cook, "hold_min"),
        off=None if course is None or course.pull_c is None else _off(course.pull_c, rule),
        minimum=rule,
        notes=course.notes if course else notes,
        changes=changes,
    )


def _maybe(cook: CaseCook | None, name: str) -> int | None:
    return None if cook is None else getattr(cook, name)


def _off(degrees_c: float, rule: CookMinimum | None) -> tuple[int, int]:
    """Return whole degF and degC, rounded up and never under the published minimum."""
    found = ceil(degrees_c * 1.8 + 32 - 0.1), ceil(degrees_c - 0.05)
    if rule is None:
        return found
    return max(found[0], rule.whole_fahrenheit), max(found[1], rule.whole_celsius)
