"""The items of a fire plan: each with its minimum, its minutes as a band, and its loads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

import numpy as np

from collop.fire.clocks import carve_line, degrees, form_of, wait_words
from collop.fire.courses import course_of
from collop.fire.courses_loss import cooking_loss
from collop.fire.laying import LaidLoad, LaidStage
from collop.fire.plan_making import made_words
from collop.fire.plan_times import clock, degrees_up, iso, pounds, turn_minutes, whole
from collop.fire.problem import BANDS, Course, FireItem, FireProblem, StageTime
from collop.reference import cook_minimum
from collop.reference.keepings import hold_hot

__all__ = ["HEAT_WORDS", "due_c", "plan_item", "waits"]

#: What is done with a piece at each kind of heat.
HEAT_WORDS = {
    "direct": "over the coals",
    "indirect": "cool side, lid on",
    "plate": "on the plate",
    "oven": "into the oven",
    "pot": "into the pot",
}
# samples of a course of which only the core it comes off at is asked
_FEW = 20


def plan_item(
    problem: FireProblem,
    item: FireItem,
    course: Course,
    loads: Sequence[LaidLoad],
    ovens: Mapping[tuple[str, int], str],
) -> dict[str, Any]:
    """Return one entry of ``items``; without `loads` it could not be laid.

    `ovens` names the zone in which a load waits, for those that wait in one.
    """
    minimum = _minimum(item)
    low, middle, high = (whole(float(one)) for one in np.quantile(course.minutes, BANDS))
    planned = sum(stage.minutes for stage in loads[0].stages) if loads else None
    rise = course.rise_c
    return {
        "id": item.id,
        "name": item.name,
        "species": item.species,
        "serve": item.serving,
        "weight_lb": pounds(item.weight_mlb),
        "role": item.role,
        "cook_as": item.cook_as,
        "treatment": item.treatment,
        "made": made_words(item, problem.unit),
        "method": item.method,
        "meat_free": item.is_meat_free,
        "allergens": list(item.allergens),
        "minimum": minimum,
        **_degrees("pull", course.pull_c, minimum),
        **_degrees("target", course.target_c, minimum),
        **_degrees("due", due_c(problem, item, course), minimum),
        "minutes": {
            "p10": low,
            "p50": middle,
            "p90": high,
            "planned": planned,
            "source": course.source,
        },
        "cooked": _cooked(item, course),
        "rest_min": course.rest_min,
        "rise_f": None if rise is None else [whole(one * 1.8) for one in rise],
        "rise_c": None if rise is None else [whole(one) for one in rise],
        "log_reduction": None if course.log_reduction is None else round(course.log_reduction, 1),
        "loads": [_load(problem, load, course, waits(problem, load, ovens)) for load in loads],
        "steps": [line for load in loads for line in _steps(problem, load)],
        "say": _say(problem, item, course, loads, minimum),
        "carve": item.carve or carve_line(item.name, item.species, form_of(item), item.role),
        "cautions": _cautions(item),
        "notes": list(course.notes),
    }


def due_c(problem: FireProblem, item: FireItem, course: Course) -> float | None:
    """Return the least core it may come off at [degC]; None for food without a rule.

    It is the published minimum, or more for a whole cut that cools in its rest: off the fire at the
    minimum it would rest under it.
    """
    if item.cook_as == "none":
        return None
    least = float(cook_minimum(item.cook_as).temperature.in_celsius(3))
    if course.source != "model" or item.cook_as != "whole" or course.pull_c is None:
        return least
    if item.done_c is None:  # its pull is the least that keeps it at its minimum as it rests
        return max(least, course.pull_c)
    lowest = course_of(replace(item, done_c=None), problem, samples=_FEW).pull_c
    return max(least, min(lowest or least, course.pull_c))


def _minimum(item: FireItem) -> dict[str, Any] | None:
    if item.cook_as == "none":
        return None
    rule = cook_minimum(item.cook_as)
    return {
        "core_f": rule.whole_fahrenheit,
        "core_c": rule.whole_celsius,
        "rest_min": rule.rest_min,
        "rule": rule.rule,
        "source": rule.source,
        "text": rule.text(),
    }


def _degrees(
    name: str, degrees_c: float | None, minimum: dict[str, Any] | None
) -> dict[str, int | None]:
    """Return a core in both units, in whole degrees rounded up, never below the minimum."""
    if degrees_c is None:
        return {f"{name}_f": None, f"{name}_c": None}
    in_f, in_c = degrees_up(degrees_c)
    if minimum is not None:
        in_f, in_c = max(in_f, minimum["core_f"]), max(in_c, minimum["core_c"])
    return {f"{name}_f": in_f, f"{name}_c": in_c}


def _cooked(item: FireItem, course: Course) -> dict[str, Any] | None:
    """Return what is left when it is cooked, by the published yields; None where there are none."""
    if item.cook_as == "none" or not item.species or course.pull_c is None:
        return None
    end = Decimal(repr(round(course.pull_c, 1)))
    loss = cooking_loss(item.species.strip().casefold(), item.method, end, words=item.name)
    if loss is None:
        return None
    return {
        "weight_lb": pounds(int(item.weight_mlb * (1 - loss.share))),
        "loss_pct": whole(float(100 * loss.share)),
        "rows": len(loss.rows),
        "source": loss.rows[0].citation(),
        "notes": list(loss.notes),
    }


def _load(problem: FireProblem, load: LaidLoad, course: Course, where: str) -> dict[str, Any]:
    early, late = (float(one) for one in np.quantile(course.minutes, (BANDS[0], BANDS[-1])))
    return {
        "wave": load.wave,
        "waves": load.waves,
        "weight_lb": pounds(load.weight_mlb),
        "area_sq_in": round(float(load.area_sq_in), 1),
        "own_tray": load.own_tray,
        "stages": [
            _stage(problem, stage, times)
            for stage, times in zip(load.stages, course.stages, strict=True)
        ],
        "early": iso(problem, load.start + whole(early)),
        "late": iso(problem, load.start + whole(late)),
        "off": iso(problem, load.off),
        "ready": iso(problem, load.ready),
        "eat": iso(problem, load.eat),
        "start_min": load.start,
        "off_min": load.off,
        "ready_min": load.ready,
        "eat_min": load.eat,
        "wait_min": load.wait,
        "waits": where,
    }


def waits(problem: FireProblem, load: LaidLoad, ovens: Mapping[tuple[str, int], str]) -> str:
    """Return where a load waits for the table, never on a grate; empty if it does not wait."""
    oven = ovens.get((load.item, load.wave))
    if oven is None:
        rest = load.ready - load.off
        return wait_words(load.wait, problem.unit, rest_min=rest, air_f=problem.air_f)
    name = next(zone.name for zone in problem.zones if zone.id == oven)
    warm = degrees(hold_hot()[0], problem.unit)
    return f"kept at {warm} or above in: {name}"


def _stage(problem: FireProblem, stage: LaidStage, times: StageTime) -> dict[str, Any]:
    names = {zone.id: zone.name for zone in problem.zones}
    return {
        "heat": stage.heat,
        "zone": stage.zone,
        "zone_name": names[stage.zone],
        "start": iso(problem, stage.start),
        "end": iso(problem, stage.end),
        "start_min": stage.start,
        "end_min": stage.end,
        "turns": [iso(problem, at) for at in turn_minutes(stage, times)],
    }


def _steps(problem: FireProblem, load: LaidLoad) -> list[str]:
    part = f" (load {load.wave} of {load.waves})" if load.waves > 1 else ""
    lines = [
        f"{clock(problem, stage.start)} {HEAT_WORDS[stage.heat]}{part}" for stage in load.stages
    ]
    lines.append(f"{clock(problem, load.off)} off{part}")
    return lines


def _say(
    problem: FireProblem,
    item: FireItem,
    course: Course,
    loads: Sequence[LaidLoad],
    minimum: dict[str, Any] | None,
) -> str:
    if not loads:
        return f"{item.name} finds no place on this fire."
    first = loads[0]
    words = f"{item.name}: {clock(problem, first.start)} {HEAT_WORDS[first.stages[0].heat]}"
    for stage in first.stages[1:]:
        words += f", {clock(problem, stage.start)} {HEAT_WORDS[stage.heat]}"
    words += f", off about {clock(problem, first.off)}"
    if minimum is not None:
        core = _core(problem, course, minimum)
        words += f" with {core} in the middle"
    return f"{words}."


def _core(problem: FireProblem, course: Course, minimum: dict[str, Any]) -> str:
    """Return the core at which it comes off, the unit of the problem first."""
    pull = _degrees("pull", course.pull_c, minimum)
    in_f, in_c = pull["pull_f"], pull["pull_c"]
    if in_f is None:
        in_f, in_c = minimum["core_f"], minimum["core_c"]
    return f"{in_c} °C ({in_f} °F)" if problem.unit == "C" else f"{in_f} °F ({in_c} °C)"


def _cautions(item: FireItem) -> list[str]:
    """Return what only this item asks for; what holds for all stands in the plan's cautions."""
    if item.treatment in {"tenderised", "injected", "rolled"} and item.cook_as == "ground":
        return [f"{item.name} is {item.treatment}: cook it as mince, through and through."]
    return []
