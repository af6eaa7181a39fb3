"""How one offer is cooked: which minimum rules it, by which method, and for how long.

The times are those of the Fire Sheet (`collop.fire.courses`), so that a spread and its sheet never
disagree on a minute.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from collop.errors import BadValue
from collop.fire.courses import course_of
from collop.fire.problem import Course, FireItem, FireProblem, Stage
from collop.fire.scheduling_loads import MOST_MINUTES, planned_minutes
from collop.spread.problem import Cook, Fire, Offer

__all__ = [
    "NEVER_MIN",
    "STEW_MIN",
    "Times",
    "cook_as",
    "course_of_offer",
    "is_potted",
    "method_of",
    "times_of",
]

#: A stew of shoulder, neck or shin is not done sooner; common practice, no published source.
STEW_MIN = 120
#: The share of samples in which the planned minutes are enough, as the sheet plans at the least.
QUANTILE = 0.9
#: A last browning over the coals, of minutes told in one figure; common practice, no published
#: source [min].
FINISH_MIN = (6, 12)
#: Longer than anything cooks [min].
NEVER_MIN = 10 * MOST_MINUTES
_BIRDS = frozenset({"chicken", "duck", "goose", "turkey", "guinea fowl"})
_GROUND_WORDS = ("mince", "ground", "link", "patt", "sausage", "burger")
_SLOW_WORDS = re.compile(r"indirect|covered|smoke|oven")
_POT_WORDS = re.compile(r"brais|pot")
_BROWNED = frozenset({"indirect then direct", "oven then direct"})
_BROWNED_WORDS = re.compile(r"(oven|indirect|cover|low|smok).*(then|finish)")
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

    What the shop says counts; birds are always poultry, links and mince always ground, and so is
    a whole cut that a blade or needle has gone through, or that is rolled.
    """
    species = {tag.name for tag in offer.tags if tag.kind == "species"}
    if offer.is_meat_free:
        return "none"
    if species & _BIRDS or offer.cook_as == "poultry":
        return "poultry"
    if offer.cook_as == "ground" or offer.casing is not None:
        return "ground"
    if offer.cook is not None and offer.cook.treatment != "whole":
        return "ground"
    if any(word in offer.name.lower() for word in _GROUND_WORDS):
        return "ground"
    return "whole"


def is_potted(offer: Offer, style: str) -> bool:
    """Tell whether it is cooked in a pot: every stew, and what is braised."""
    told = offer.cook is not None and offer.cook.method == "pot"
    return told or style == "stew" or _POT_WORDS.search(offer.method.lower()) is not None


def method_of(fire: Fire | None, offer: Offer, style: str, *, on_fire: bool) -> str:
    """Return one of `METHODS`: as the shop says, or else as the words of the offer tell it.

    Parameters
    ----------
    on_fire : bool
        Whether it lies on a zone of the fire; else it is in the oven or a pot.

    Notes
    -----
    What the shop says is how it is done on a covered grill.  What the oven takes is still browned
    over the coals where the grill would have done so, if there are coals.
    """
    told, words = offer.cook and offer.cook.method, offer.method.lower()
    browned = told in _BROWNED or (told is None and _BROWNED_WORDS.search(words) is not None)
    if on_fire:
        if browned:
            return "indirect then direct"
        if told in {"direct", "indirect"}:
            return str(told)
        return "indirect" if _SLOW_WORDS.search(words) else "direct"
    if fire is not None and fire.pots and is_potted(offer, style):
        return "pot"
    lit = fire is not None and fire.minutes and any(zone.area_sq_in for zone in fire.zones)
    return "oven then direct" if browned and lit and not is_potted(offer, style) else "oven"


def course_of_offer(offer: Offer, style: str, method: str) -> Course:
    """Return how the offer cooks in a dish style, as the Fire Sheet has it."""
    low, high = offer.minutes
    if style == "stew":
        low, high = max(low, STEW_MIN), max(high, STEW_MIN)
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
            stages=None if minutes is None else _stages(method, minutes),
            body=body,
            rest_min=cook.rest_min,
            hold_min=cook.hold_min,
            treatment=cook.treatment,
        )
    )


def _stages(method: str, minutes: tuple[int, int]) -> tuple[Stage, ...] | None:
    """Split minutes told in one figure into the stages of a method that has two.

    The browning at the end takes `FINISH_MIN` of them, at most half.
    """
    first, _, last = method.partition(" then ")
    if not last:
        return None
    finish = [max(1, min(most, half // 2)) for most, half in zip(FINISH_MIN, minutes, strict=True)]
    slow = [max(1, whole - part) for whole, part in zip(minutes, finish, strict=True)]
    return (Stage(first, slow[0], max(slow)), Stage(last, *finish))


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
