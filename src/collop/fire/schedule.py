"""Lay a fire: everything ready in time, no grill overfilled, no food waiting longer than it may.

The steps, from the plainest plan to the least plain:

1. each item in as few loads as its area forces, all ready at its serving time;
2. more loads, still all ready at the serving time, within what each may wait;
3. further rounds, eaten later (`FireProblem.waves`): fewest late loads, then least waiting;
4. a `Refusal`, which says which limit stands in the way and what would make it go.

Planned minutes cover a share of the samples of each stage, more of those that are cheap to cover
(`collop.fire.shares`). The shares are raised until every serving is ready in time in
`FireProblem.chance` of the samples, or until higher ones do not go: then the best plan is kept, and
its chance is told as it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from collop.fire.clocks import LONG_WAIT_MIN
from collop.fire.laying import LaidLoad, Laying
from collop.fire.problem import Course, FireProblem, Zone
from collop.fire.sampling import ready_chance
from collop.fire.schedule_refusal import NearestYes, Reason, Refusal, refusal_of
from collop.fire.scheduling import WORK, Found, solve
from collop.fire.scheduling_loads import course_for, takes
from collop.fire.shares import SHARES, highest_share, shares_for

__all__ = ["AIMS", "NearestYes", "Reason", "Refusal", "lay", "where_it_waits"]

#: How far the joint chance that the shares are chosen for lies between the wanted one and
#: certainty, tried in this order: room on the grill that comes free late costs some of it.
AIMS = (0.0, 0.2, 0.4, 0.6, 0.8)
# most work of each step: programs with many loads that may be there take longer for the same count
_STEP_WORK = (WORK, 0.15, 0.25)
_STEPS: tuple[dict[str, bool], ...] = ({}, {"spread": True}, {"spread": True, "rounds": True})


def lay(
    problem: FireProblem, courses: Mapping[str, Course], *, why: bool = True
) -> Laying | Refusal:
    """Lay a fire.

    Parameters
    ----------
    problem : FireProblem
    courses : mapping of item id to Course
        How each item cooks; all with the same number of samples.
    why : bool
        Whether a refusal looks for all its reasons and for the nearest yes, which takes some
        more solving; without it, only what is plain at once is told.

    Returns
    -------
    Laying or Refusal

    Raises
    ------
    BadValue
        If an item has no course, or names a serving that is not there.
    """
    if not problem.items:
        return Laying((), SHARES[0], ready={s.id: 1.0 for s in problem.servings})
    proven = True
    for step, most in list(zip(_STEPS, _STEP_WORK, strict=True))[: 3 if problem.waves else 2]:
        found = solve(problem, courses, SHARES[0], work=most, **step)
        if found.loads:
            return _surest(problem, courses, found, step, most)
        proven = found.status == "none"
    return refusal_of(problem, courses, SHARES[0], thorough=why, proven=proven)


def _surest(
    problem: FireProblem,
    courses: Mapping[str, Course],
    found: Found,
    step: Mapping[str, bool],
    most: float,
) -> Laying:
    """Raise the shares that are covered until the chance is reached or no plan goes."""
    best = _laying(problem, courses, found, SHARES[0])
    left = most - found.work  # raising may take as much work as the first plan may
    for ladder in (_own_shares(problem, courses), _common_shares(problem, courses)):
        for shares in ladder:
            if _least(best) >= problem.chance or left <= 0:
                return best
            found = solve(problem, courses, shares, work=left, **step)
            left -= found.work
            if not found.loads:
                break
            surer = _laying(problem, courses, found, min(shares.values()))
            if len(surer.late_rounds) > len(best.late_rounds):
                break  # never more rounds for the sake of a better chance
            if _least(surer) > _least(best):
                best = surer
    return best


def _own_shares(problem: FireProblem, courses: Mapping[str, Course]) -> Iterator[dict[str, float]]:
    """Yield a share for each item by what its minutes cost, for surer and surer aims."""
    before: dict[str, float] = {}
    for part in AIMS:
        shares = shares_for(problem, courses, problem.chance + part * (1 - problem.chance))
        if shares != before:
            yield shares
        before = shares


def _common_shares(
    problem: FireProblem, courses: Mapping[str, Course]
) -> Iterator[dict[str, float]]:
    """Yield one share for all: short waits on a full grill may not bear long cheap minutes.

    A piece that this fire never gets done so often has the highest share it can have.
    """
    for share in SHARES[1:]:
        yield {item.id: highest_share(course_for(courses, item), share) for item in problem.items}


def _least(laying: Laying) -> float:
    return min(laying.ready.values(), default=1.0)


def _laying(
    problem: FireProblem, courses: Mapping[str, Course], found: Found, quantile: float
) -> Laying:
    """Return a plan with its chance and the use of each zone with a limited time."""
    lit: dict[str, int] = {}
    out: dict[str, int] = {}
    limited = {zone.id for zone in problem.zones if zone.minutes is not None}
    for load in found.loads:
        for stage in load.stages:
            if stage.zone in limited:
                lit[stage.zone] = min(lit.get(stage.zone, stage.start), stage.start)
                out[stage.zone] = max(out.get(stage.zone, stage.end), stage.end)
    # a late round weighs thousands of minutes in the program; no more than what waits can be saved
    waiting = sum(max(0, load.wait) for load in found.loads)
    gap = max(1, min(found.cost - found.bound, waiting)) if found.status == "gap" else 0
    laying = Laying(loads=found.loads, quantile=quantile, lit=lit, out=out, status=found.status,
                    gap_min=gap)  # fmt: skip
    return _with_chance(laying, ready_chance(problem, courses, laying))


def _with_chance(laying: Laying, ready: dict[str, float]) -> Laying:
    return Laying(loads=laying.loads, quantile=laying.quantile, ready=ready, lit=laying.lit,
                  out=laying.out, status=laying.status, gap_min=laying.gap_min)  # fmt: skip


def where_it_waits(problem: FireProblem, laying: Laying) -> dict[tuple[str, int], str]:
    """Return the oven in which a load waits, for those that wait long.

    Returns
    -------
    dict of (item id, wave) to zone id
        Loads that are not named wait on a clean board. An oven is used only while no raw food is
        in it (raw never over done), where there is room beside what waits there already, and as
        long as it lasts.
    """
    ovens = [zone for zone in problem.zones if zone.heats == {"oven"}]
    items = {item.id: item for item in problem.items}
    found: dict[tuple[str, int], str] = {}
    for load in laying.loads:
        if load.wait <= LONG_WAIT_MIN:
            continue
        for oven in ovens:
            beside = [one for one in laying.loads if found.get((one.item, one.wave)) == oven.id]
            if (
                takes(oven, items[load.item], "oven")
                and not any(_meets(load, other, oven.id) for other in laying.loads)
                and _has_room(oven, load, beside)
                and _lasts(oven, load, laying)
            ):
                found[load.item, load.wave] = oven.id
                break
    return found


def _has_room(oven: Zone, load: LaidLoad, beside: list[LaidLoad]) -> bool:
    """Tell whether a load fits beside those that wait there at any of the same minutes."""
    if oven.area_sq_in is None:
        return True
    same = [one for one in beside if one.off < load.eat and load.off < one.eat]
    return sum((one.area_sq_in for one in same), load.area_sq_in) <= oven.area_sq_in


def _lasts(oven: Zone, load: LaidLoad, laying: Laying) -> bool:
    """Tell whether an oven with a limited time is still hot while a load waits in it."""
    if oven.minutes is None:
        return True
    lit = min(laying.lit.get(oven.id, load.off), load.off)
    return max(laying.out.get(oven.id, load.eat), load.eat) - lit <= oven.minutes


def _meets(done: LaidLoad, other: LaidLoad, zone: str) -> bool:
    """Tell whether another load is in a zone while a done one waits there."""
    return other is not done and any(
        stage.zone == zone and stage.start < done.eat and stage.end > done.off
        for stage in other.stages
    )
