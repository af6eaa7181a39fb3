"""How one offer is cooked: which minimum rules it, by which method, and for how long.

The times are those of the Fire Sheet (`collop.fire.courses`), so that a spread and its sheet never
disagree on a minute.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from collop.errors import BadValue
from collop.fire.courses import course_of
from collop.fire.methods import STEW, Way, cook_as_of, stages_of, stewed, way_for
from collop.fire.problem import METHODS, Course, FireItem, FireProblem
from collop.fire.scheduling_loads import MOST_MINUTES, planned_minutes
from collop.spread.problem import Cook, Fire, Offer

__all__ = [
    "NEVER_MIN",
    "Times",
    "cook_as",
    "course_of_offer",
    "is_potted",
    "method_of",
    "times_of",
]

#: The share of samples in which the planned minutes are enough, as the sheet plans at the least.
QUANTILE = 0.9
#: Longer than anything cooks [min].
NEVER_MIN = 10 * MOST_MINUTES
_PLAIN = FireProblem(name="", servings=(), zones=(), items=())


@dataclass(frozen=True, slots=True)
class Times:
    """Minutes of one offer: planned on the fire, least rest, longest wait after it."""

    planned: int
    rest: int
    hold: int

    @property
    def to_ready(self) -> int:
        """Return the time from putting it on to the end of its rest [min]."""
        return self.planned + self.rest


def cook_as(offer: Offer) -> str:
    """Return ``whole``, ``ground``, ``poultry`` or ``none``: how the minimum is looked up.

    As on the sheet: see `collop.fire.methods.cook_as_of`.
    """
    if offer.is_meat_free:
        return "none"
    cook = offer.cook or Cook()
    return cook_as_of(
        offer.cook_as,
        name=offer.name,
        species={tag.name for tag in offer.tags if tag.kind == "species"} or {"meat"},
        casing=offer.casing,
        treatment=cook.treatment,
        form=None if cook.body is None else cook.body.form,
    )


def _way(offer: Offer, style: str) -> Way | None:
    """Return how it is cooked in a dish style; None where its words do not say."""
    if style == "stew":
        return STEW
    told = None if offer.cook is None else offer.cook.method
    if told is None and not offer.method:
        return Way("direct")
    return way_for(offer.method, told)


def is_potted(offer: Offer, style: str) -> bool:
    """Tell whether it is cooked in a pot, or covered in an oven: every stew, and a braise."""
    return _way(offer, style) == STEW


def method_of(fire: Fire | None, offer: Offer, style: str) -> str | None:
    """Return one of `METHODS`: as on the sheet, by what the shop says or the words of the offer.

    Parameters
    ----------
    fire : Fire or None
        None where nothing is known of it: a covered grill, and a pot.

    Returns
    -------
    str or None
        None if it cannot be cooked at this fire.
    """
    way = _way(offer, style)
    if fire is None:
        return "oven" if way is None else way.method(oven=False)
    if way is None:  # no words of a fire
        return "oven" if fire.oven else None
    method = way.method(oven=fire.oven, pots=fire.pots > 0)
    if method == "pot":
        return "pot" if fire.pots else None
    if method == "oven" or (fire.minutes and any(zone.area_sq_in for zone in fire.zones)):
        return method
    # no grill to lie on: the oven takes it all, where there is no fire to be too small
    return "oven" if fire.oven and (not fire.zones or METHODS[method][0] == "oven") else None


def course_of_offer(offer: Offer, style: str, method: str) -> Course:
    """Return how the offer cooks in a dish style, as the Fire Sheet has it."""
    low, high = stewed(offer.minutes) if style == "stew" else offer.minutes
    cook = offer.cook or Cook()
    body = None if is_potted(offer, style) else cook.body
    # nobody has said how long it takes: its body tells, or a minute, so that it has its place
    minutes = None if body is not None and not high else (max(1, low), max(1, high))
    return _course(
        FireItem(
            id=offer.id,
            name=offer.name,
            species=None if offer.is_meat_free else offer.species,
            serving="meal",
            weight_mlb=1000,
            area_sq_in=offer.sq_in_per_lb,
            cook_as=cook_as(offer),
            method=method,
            piece_mlb=max(offer.pieces_mlb) if offer.pieces_mlb else None,
            minutes=minutes,
            stages=None if minutes is None else stages_of(method, minutes),
            body=body,
            done_c=cook.done_c,
            rest_min=cook.rest_min,
            hold_min=cook.hold_min,
            treatment=cook.treatment,
        )
    )


@lru_cache(maxsize=4096)
def _course(item: FireItem) -> Course:
    """Return the course of an item, worked out once for each way of cooking it."""
    return course_of(item, _PLAIN)


def times_of(offer: Offer, style: str, method: str) -> Times:
    """Return the planned minutes, rest and hold of an offer.

    What this heat never brings to its core takes `NEVER_MIN`.
    """
    try:
        course = course_of_offer(offer, style, method)
    except BadValue:
        return Times(NEVER_MIN, 0, 0)
    planned = planned_minutes(course, QUANTILE)
    return Times(NEVER_MIN if planned is None else sum(planned), course.rest_min, course.hold_min)
