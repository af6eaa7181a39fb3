"""What to do in the order of the clock, each with the tool it is done with."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from collop.fire.clocks import degrees
from collop.fire.laying import LaidLoad, Laying
from collop.fire.plan_items import HEAT_WORDS, due_c, waits
from collop.fire.plan_making import made_words
from collop.fire.plan_times import degrees_up, iso, turn_minutes, whole
from collop.fire.problem import BANDS, Course, FireItem, FireProblem
from collop.reference import cook_minimum
from collop.reference.keepings import hold_hot

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
    eaten = {item.serving for item in problem.items}
    found += [
        (serving.at_min, 99, _step(problem, serving.at_min, "On the table."))
        for serving in problem.servings
        if serving.id in eaten
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
    done = "meat-free" if item.is_meat_free else "cooked"
    yield from _stage_steps(problem, item, course, load, name)
    early = load.start + whole(float(np.quantile(course.minutes, BANDS[0])))
    due = due_words(problem, item, course)
    last = load.stages[-1]
    if due and max(early, last.start) < load.off - PROBE_BEFORE:
        warm = degrees(hold_hot()[0], problem.unit)
        what = f"{name}: begin to probe; off at {due}; if early, in foil at {warm} or above"
        yield _step(problem, max(early, last.start), what, item, zone=last.zone, tool=done)
    words = f"{name}: off" + (f" at {due}" if due else "")
    if course.rest_min:
        words += f"; rest {course.rest_min} min"
    if where:
        words += f"; waits {load.wait} min {where}"
    yield _step(problem, load.off, words, item, zone=last.zone, tool=done)
    if load.eat not in {serving.at_min for serving in problem.servings}:
        yield _step(problem, load.eat, f"{name}: on the table.", item, tool=done)


def _stage_steps(
    problem: FireProblem, item: FireItem, course: Course, load: LaidLoad, name: str
) -> Iterator[Step]:
    """Yield putting on, turning and moving; only what goes on first is touched raw."""
    raw, done = ("meat-free", "meat-free") if item.is_meat_free else ("raw", "cooked")
    made = made_words(item, problem.unit)
    for index, (stage, times) in enumerate(zip(load.stages, course.stages, strict=True)):
        words = [HEAT_WORDS[stage.heat]]
        if index == 0:
            words = [made, *words] if made else words
            words += ["on its own tray"] if load.own_tray else []
        until = ""
        if times.until_c is not None and index + 1 < len(load.stages):
            until = f" until {_both(problem, times.until_c)} in the middle"
        what = f"{name}: {', '.join(words)}{until}"
        tool = done if index else raw
        yield _step(problem, stage.start, what, item, zone=stage.zone, tool=tool)
        for at in turn_minutes(stage, times):
            yield _step(problem, at, f"{name}: turn", item, zone=stage.zone, tool=tool)


def due_words(problem: FireProblem, item: FireItem, course: Course) -> str:
    """Return the core at which it comes off, with the least it must be if that is lower.

    A piece that cools in its rest, or is wanted hotter, comes off above its published minimum.
    """
    if item.cook_as == "none" or course.pull_c is None:
        return ""
    rule = cook_minimum(item.cook_as)
    pull = degrees_up(course.pull_c)
    off_f, off_c = max(pull[0], rule.whole_fahrenheit), max(pull[1], rule.whole_celsius)
    if off_f <= rule.whole_fahrenheit:
        return f"{_pair(problem, off_f, rule.whole_celsius)} in the middle"
    off, due = _pair(problem, off_f, off_c), due_c(problem, item, course)
    if due is None or degrees_up(due) >= pull:
        return f"{off} in the middle"  # it cools as it rests: this is the least
    due_f, due_in_c = degrees_up(due)
    return f"{off} in the middle, never under {_pair(problem, due_f, due_in_c)}"


def _both(problem: FireProblem, degrees_c: float) -> str:
    return _pair(problem, whole(degrees_c * 1.8 + 32), whole(degrees_c))


def _pair(problem: FireProblem, in_f: int, in_c: int) -> str:
    return f"{in_c} °C ({in_f} °F)" if problem.unit == "C" else f"{in_f} °F ({in_c} °C)"
