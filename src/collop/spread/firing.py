"""The fire of a spread, laid by the kernel of the Fire Sheet.

A spread is shown only if `collop.fire.schedule.lay` finds a time for every load of it, and its own
checker finds no fault.  So when Fire says no, Spread does not say yes.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from fractions import Fraction

from collop.errors import PlanRejected
from collop.fire.checker import check_laying
from collop.fire.laying import Laying
from collop.fire.methods import GRILL_HEATS
from collop.fire.problem import Course, FireItem, FireProblem, Serving, Zone
from collop.fire.schedule import Refusal, lay
from collop.spread.cooking import cook_as, course_of_offer
from collop.spread.options import Option
from collop.spread.picks import Pick
from collop.spread.problem import Fire, SpreadProblem

__all__ = ["Hearth", "fire_of", "warm_up", "zone_name"]

#: The meal of a spread without an hour; only times from it are used.
_SOME_DAY = datetime(2000, 1, 1, 18)  # noqa: DTZ001 -- all times of a spread are the shop's
#: The hour of the ask is told to the fire if the meal is nearer than this.
_NEAR = timedelta(hours=24)
_MEAL = "meal"
_ON, _OVEN, _POT = "on ", "oven", "pot"


def _words(text: str) -> set[str]:
    return set(re.findall(r"[a-z]+", text.lower()))


def _zones(fire: Fire, tags: dict[str, frozenset[str]]) -> tuple[Zone, ...]:
    """Return the places to cook; `tags` are heats kept to some zones, with the zones' names."""
    found = [
        Zone(
            id=_ON + zone.name,
            name=zone.name,
            heats=GRILL_HEATS | {tag for tag, names in tags.items() if zone.name in names},
            area_sq_in=zone.area_sq_in,
            meat_free={"meat", "free"} <= _words(zone.name),
            minutes=fire.minutes,
        )
        for zone in fire.zones
    ]
    if fire.oven:
        found.append(Zone(_OVEN, "Oven", frozenset({"oven"}), None))
    if fire.pots:
        found.append(Zone(_POT, "Pots", frozenset({"pot"}), None))
    return tuple(found)


def _open_to(fire: Fire, option: Option) -> frozenset[str]:
    """Return the zones that the fire kernel would let an option lie in."""
    free = option.offer.is_meat_free
    return frozenset(z.name for z in fire.zones if free or not {"meat", "free"} <= _words(z.name))


def _item(pick: Pick) -> FireItem:
    offer, pieces = pick.option.offer, pick.pieces
    cook = offer.cook
    on_fire = pick.option.place is not None or "direct" in pick.option.method
    return FireItem(
        id=offer.id,
        name=offer.name,
        species=offer.species,
        serving=_MEAL,
        weight_mlb=pick.mlb,
        area_sq_in=offer.sq_in_per_lb * pick.pounds if on_fire else Fraction(0),
        cook_as=cook_as(offer),
        method=pick.option.method,
        pieces=len(pieces) if pieces else None,
        piece_mlb=max(pieces) if pieces else None,
        minutes=offer.minutes,
        body=cook.body if cook else None,
        carve=cook.carve if cook else None,
        allergens=offer.allergens,
        treatment=cook.treatment if cook else "whole",
    )


def fire_of(
    problem: SpreadProblem, picks: Sequence[Pick], *, rounds: bool
) -> tuple[FireProblem, dict[str, Course]]:
    """Return the fire of a spread and how each of its lines cooks.

    Parameters
    ----------
    problem : SpreadProblem
        With a fire that is known.
    picks : sequence of Pick
    rounds : bool
        Whether some may be eaten after the rest.

    Notes
    -----
    Where a line may lie on some zones only, its heat gets a name of its own that only those give.
    """
    fire = problem.fire
    assert fire is not None
    tags: dict[str, frozenset[str]] = {}
    courses: dict[str, Course] = {}
    for pick in picks:
        option = pick.option
        course = course_of_offer(option.offer, option.style, option.method)
        place = option.place
        if place is not None and place != _open_to(fire, option):
            where = "+".join(sorted(place))
            stages = tuple(replace(s, heat=f"{s.heat} @ {where}") for s in course.stages)
            tags |= {stage.heat: place for stage in stages}
            course = replace(course, stages=stages)
        courses[option.offer.id] = course
    at, now = problem.use_at or _SOME_DAY, None
    if problem.use_at is not None and problem.now is not None and at - problem.now < _NEAR:
        now = problem.now
    made = FireProblem(
        name="",
        servings=(Serving(_MEAL, at, 0),),
        zones=_zones(fire, tags),
        items=tuple(_item(pick) for pick in picks),
        now=now,
        heads=problem.heads,
        waves=rounds,
    )
    return made, courses


def warm_up() -> None:
    """Load what lays a fire, which takes a second, before the first ask waits for it."""
    import numpy as np  # noqa: F401, PLC0415
    from ortools.sat.python import cp_model  # noqa: F401, PLC0415


def zone_name(zone_id: str) -> str | None:
    """Return the name of a zone of the ask, or None for oven and pots."""
    return zone_id.removeprefix(_ON) if zone_id.startswith(_ON) else None


@dataclass(slots=True)
class Hearth:
    """Lays spreads of one ask on its fire, each once.

    Attributes
    ----------
    problem : SpreadProblem
    rounds : bool
        Whether what does not fit at once may be eaten in a further round.
    laid : dict
        What was found for each set of lines with their amounts, and the chance they were to have.
    """

    problem: SpreadProblem
    rounds: bool = False
    laid: dict[tuple[object, Fraction], Laying | Refusal] = field(default_factory=dict)

    @property
    def refused(self) -> bool:
        """Tell whether any spread was refused so far."""
        return any(isinstance(found, Refusal) for found in self.laid.values())

    def lay(self, picks: Sequence[Pick]) -> Laying | Refusal:
        """Return the schedule of a spread, or why there is none.

        Raises
        ------
        PlanRejected
            If the fire's own checker finds a fault in the schedule.
        """
        return self._lay(picks, Fraction(9, 10))

    def _lay(self, picks: Sequence[Pick], chance: Fraction) -> Laying | Refusal:
        ordered = sorted(picks, key=lambda pick: pick.option.offer.id)
        lines = tuple((p.option.offer.id, p.option.style, p.counts) for p in ordered)
        if (lines, chance) not in self.laid:
            made, courses = fire_of(self.problem, ordered, rounds=self.rounds)
            found = lay(replace(made, chance=float(chance)), courses, why=False)
            if isinstance(found, Laying):
                faults = check_laying(made, courses, found)
                if faults:
                    raise PlanRejected(f"The fire was held back: {'; '.join(faults)}.")
            self.laid[lines, chance] = found
        return self.laid[lines, chance]

    def can_cook(self, picks: Sequence[Pick]) -> bool:
        """Tell whether a spread can be cooked; yes if nothing is known of the fire."""
        return self.problem.fire is None or isinstance(self.lay(picks), Laying)

    def cannot_cook(self, picks: Sequence[Pick]) -> bool:
        """Tell whether it is proven that a spread cannot be cooked, however sure it is to be."""
        found = self._lay(picks, Fraction(0))
        return isinstance(found, Refusal) and found.proven
