"""Solve the constraint program of a fire: when each load goes on, so that least food waits.

One worker, a fixed seed and a limit of work instead of a clock: the same fire gives the same
answer. The model itself is in `collop.fire.scheduling_model`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from collop.fire.laying import LaidLoad, LaidStage
from collop.fire.problem import Course, FireProblem
from collop.fire.scheduling_loads import Lot, course_for, lots_of, planned_minutes
from collop.fire.scheduling_model import (
    EXTRA_MIN,
    ROUND_MIN,
    TRAY_MIN,
    Model,
    Placed,
    Term,
    area_scale,
    build,
)
from collop.solver import go_on_or_stop

__all__ = ["EXTRA_MIN", "ROUND_MIN", "TRAY_MIN", "WORK", "Found", "area_scale", "solve"]

#: Work before the best plan so far is taken: steps counted by the solver, never a clock. About
#: three seconds of one core of the machine it was measured on.
WORK = 0.6
_SEED = 7
# work of the small model before the one with a literal for each minute, which starts slower
_SMALL = 0.01


@dataclass(frozen=True, slots=True)
class Found:
    """What the solver found.

    Attributes
    ----------
    status : str
        ``optimal``, ``gap`` (a plan, not proven the best), ``none`` (proven: there is no plan) or
        ``unknown`` (no plan within the work allowed).
    loads : tuple of LaidLoad
        By start; empty without a plan.
    cost, bound : int
        Waiting with what counts as waiting, and the least it could be [min].
    work : float
        Work done, in the solver's count of its steps.
    """

    status: str
    loads: tuple[LaidLoad, ...] = ()
    cost: int = 0
    bound: int = 0
    work: float = 0.0


def _modes(
    problem: FireProblem,
    courses: Mapping[str, Course],
    shares: float | Mapping[str, float],
    *,
    spread: bool,
) -> dict[str, dict[int, list[Lot]]] | None:
    """Return the numbers of loads of each item; the fewest alone unless `spread`."""
    found = {}
    for item in problem.items:
        course = course_for(courses, item)
        share = shares if isinstance(shares, float) else shares[item.id]
        minutes = planned_minutes(course, share)
        modes = {} if minutes is None else lots_of(item, course, problem, minutes)
        if not modes:
            return None
        found[item.id] = modes if spread else {min(modes): modes[min(modes)]}
    return found


def _laid(solver: Term, placed: Placed) -> LaidLoad:
    """Return a load with its times."""
    lot, shift = placed.lot, solver.value(placed.shift)
    way = next(way for literal, way in placed.ways if literal is None or solver.value(literal))
    stages, at = [], lot.base + shift
    for zone, heat, length in zip(way, lot.heats, lot.minutes, strict=True):
        stages.append(LaidStage(heat=heat, zone=zone, start=at, end=at + length))
        at += length
    tray = placed.tray is not None and bool(solver.value(placed.tray))
    return LaidLoad(item=lot.item.id, wave=lot.wave, waves=lot.waves, weight_mlb=lot.weight_mlb,
                    area_sq_in=lot.area_sq_in, stages=tuple(stages), ready=at + lot.rest,
                    eat=lot.at + max(0, shift), own_tray=tray)  # fmt: skip


def _told(solver: Term, m: Model, *, proven: bool) -> Found:
    """Return the plan the solver holds."""
    # a mode that is not chosen is not laid
    there = [p for p in m.placed if p.there is None or solver.value(p.there)]
    loads = sorted((_laid(solver, p) for p in there), key=lambda one: (one.start, one.item))
    cost, bound = round(solver.objective_value), math.ceil(solver.best_objective_bound - 1e-6)
    status = "optimal" if proven else "gap"
    return Found(status, tuple(_numbered(loads)), cost, bound)


def _work(solver: Term) -> float:
    return float(solver.response_proto.deterministic_time)


def _numbered(loads: list[LaidLoad]) -> list[LaidLoad]:
    """Return the loads of each item numbered by their start."""
    seen: dict[str, int] = {}
    numbered = []
    for load in loads:
        seen[load.item] = seen.get(load.item, 0) + 1
        numbered.append(replace(load, wave=seen[load.item]))
    return numbered


def solve(
    problem: FireProblem,
    courses: Mapping[str, Course],
    shares: float | Mapping[str, float],
    *,
    spread: bool = False,
    rounds: bool = False,
    work: float = WORK,
    first: bool = False,
) -> Found:
    """Find when each load goes on.

    Parameters
    ----------
    courses : mapping of item id to Course
    shares : float or mapping of item id to float
        Share of each item's samples that its planned minutes cover.
    spread : bool
        Whether items may be cooked in more loads than their area forces.
    rounds : bool
        Whether loads after the first may be eaten later than the serving time.
    work : float
        Most work in the solver's count of its steps, see `WORK`.
    first : bool
        Whether any plan will do.

    Raises
    ------
    BadValue
        If an item has no course, or names a serving that is not there.
    """
    modes = _modes(problem, courses, shares, spread=spread)
    if modes is None:
        return Found("none")
    if spread or rounds or first:
        return _run(problem, modes, rounds=rounds, work=work, first=first)
    # most fires are proven at once; the others need the stronger bound of the larger model
    small = _run(problem, modes, rounds=False, work=min(_SMALL, work))
    if small.status in {"optimal", "none"} or work <= _SMALL:
        return small
    large = _run(problem, modes, rounds=False, work=work - small.work, minutely=True)
    if not large.loads and large.status == "unknown":
        large = replace(small, work=large.work)
    return replace(large, work=small.work + large.work)


def _run(
    problem: FireProblem,
    modes: dict[str, dict[int, list[Lot]]],
    *,
    rounds: bool,
    work: float,
    first: bool = False,
    minutely: bool = False,
) -> Found:
    """Build one model and solve it."""
    # of a load with more ways than are tried, no plan is no proof that there is none
    never = "unknown" if _is_cut(modes) else "none"
    m = build(problem, modes, rounds=rounds, minutely=minutely)
    if m is None:
        return Found("none")
    solver = m.cp.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = _SEED
    solver.parameters.linearization_level = 2
    solver.parameters.max_deterministic_time = work
    solver.parameters.stop_after_first_solution = first
    go_on_or_stop()
    status = solver.solve(m.model)
    if status in {m.cp.OPTIMAL, m.cp.FEASIBLE}:
        proven = status == m.cp.OPTIMAL
        return replace(_told(solver, m, proven=proven), work=_work(solver))
    return Found(never if status == m.cp.INFEASIBLE else "unknown", work=_work(solver))


def _is_cut(modes: Mapping[str, Mapping[int, list[Lot]]]) -> bool:
    return any(lot.is_cut for each in modes.values() for lots in each.values() for lot in lots)
