"""What to do in the order of the clock, each with the tool it is done with."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from collop.fire.laying import LaidLoad, Laying
from collop.fire.plan_items import HEAT_WORDS, waits
from collop.fire.plan_times import iso, whole
from collop.fire.problem import BANDS, Course, FireItem, FireProblem
from collop.reference import cook_minimum

__all__ = ["clock_steps"]

#: A piece that may be done sooner than this before its time is probed from then on [min].
PROBE_BEFORE = 3

Step = dict[str, Any]


def clock_steps(
    problem: FireProblem,
    courses: Mapping[str, Course],
    laying: Laying,
    ovens: Mapping[tuple[str, int], str],
) -> list[Step]:
    """Return ``steps`` of the plan: putting on, moving, turning, taking off, eating."""
    items = {item.id: item for item in problem.items}
    found: list[tuple[int, int, Step]] = []
    for load in laying.loads:
        item = items[load.item]
        where = waits(problem, load, ovens)
        for order, step in enumerate(_load_steps(problem, item, courses[item.id], load, where)):
            found.append((step["at_min"], order, step))
    found += [
        (serving.at_min, 99, _step(problem, serving.at_min, "On the table."))
        for serving in problem.servings
    ]
    return [step for _, _, step in sorted(found, key=lambda one: one[:2])]


def _step(
    problem: FireProblem,
    minute: int,
    what: str,
    item: FireItem | None = None,
    *,
    zone: str | None = None,
    tool: str = "none",
) -> Step:
    return {
        "at": iso(problem, minute),
        "at_min": minute,
        "what": what,
        "item": None if item is None else item.id,
        "zone": zone,
        "tool": tool,
    }


def _load_steps(
    problem: FireProblem, item: FireItem, course: Course, load: LaidLoad, where: str
) -> Iterator[Step]:
    name = item.name if load.waves == 1 else f"{item.name} (load {load.wave} of {load.waves})"
    raw = "meat-free" if item.is_meat_free else "raw"
    done = "meat-free" if item.is_meat_free else "cooked"
    tray = ", on its own tray" if load.own_tray else ""
    for index, (stage, times) in enumerate(zip(load.stages, course.stages, strict=True)):
        until = ""
        if times.until_c is not None and index + 1 < len(load.stages):
            until = f" until {_both(problem, times.until_c)} in the middle"
        yield _step(
            problem,
            stage.start,
            f"{name}: {HEAT_WORDS[stage.heat]}{tray}{until}",
            item,
            zone=stage.zone,
            tool=raw,
        )
        for turn in times.turns:
            at = stage.start + whole(turn * stage.minutes)
            yield _step(problem, at, f"{name}: turn", item, zone=stage.zone, tool=raw)
    early = load.start + whole(float(np.quantile(course.minutes, BANDS[0])))
    if item.cook_as != "none" and early < load.off - PROBE_BEFORE:
        what = f"{name}: begin to probe; if it is done, off it comes, and is kept hot in foil"
        yield _step(problem, early, what, item, zone=load.stages[-1].zone, tool="cooked")
    words = _off_words(problem, item, course, name)
    if where:
        words += f"; waits {load.wait} min {where}"
    yield _step(
        problem, load.off, words, item,
        zone=load.stages[-1].zone, tool=done,
    )  # fmt: skip
    if load.eat not in {serving.at_min for serving in problem.servings}:
        yield _step(problem, load.eat, f"{name}: on the table.", item, tool=done)


def _off_words(problem: FireProblem, item: FireItem, course: Course, name: str) -> str:
    words = f"{name}: off"
    if item.cook_as != "none":
        rule = cook_minimum(item.cook_as)
        words += f" when the middle shows {rule.whole_fahrenheit} °F ({rule.whole_celsius} °C)"
        if problem.unit == "C":
            words = f"{name}: off when the middle shows {rule.whole_celsius} °C"
            words += f" ({rule.whole_fahrenheit} °F)"
        target = course.pull_c
        if target is not None and target > float(rule.temperature.in_celsius(3)) + 0.5:
            words += f" or more; best at {_both(problem, target)}"
    if course.rest_min:
        words += f"; rest {course.rest_min} min"
    return words


def _both(problem: FireProblem, degrees_c: float) -> str:
    in_c, in_f = whole(degrees_c), whole(degrees_c * 1.8 + 32)
    return f"{in_c} °C ({in_f} °F)" if problem.unit == "C" else f"{in_f} °F ({in_c} °C)"
