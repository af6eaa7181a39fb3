"""A second look at a fire, without the solver: plain integers and fractions.

Nothing here is shared with the program that laid the fire but the frozen records and the two
figures that are rules: the changeover on a full grill and the latest further round.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping
from fractions import Fraction

from collop.fire.checker_food import check_course, check_minutes
from collop.fire.laying import LaidLoad, LaidStage, Laying
from collop.fire.lighting import heating
from collop.fire.problem import Course, FireItem, FireProblem, Zone
from collop.fire.scheduling import ROUND_MIN
from collop.fire.scheduling_loads import CHANGEOVER_MIN

__all__ = ["check_laying", "check_waits"]


def check_laying(problem: FireProblem, courses: Mapping[str, Course], laying: Laying) -> list[str]:
    """Return every rule a fire breaks, one sentence each.

    Parameters
    ----------
    problem : FireProblem
    courses : mapping of item id to Course
    laying : Laying

    Returns
    -------
    list of str
        Empty if it is sound: all of each item is cooked, long enough for the share of samples it
        claims, never under its published minimum; each stage lies in a zone that gives its heat;
        no zone is overfull at any minute or in use for longer than it lasts; the people there can
        do every move; food is ready when it is eaten and waits no longer than it may; food
        without meat lies on a clean grill or its own tray.
    """
    items = {item.id: item for item in problem.items}
    zones = {zone.id: zone for zone in problem.zones}
    known = [load for load in laying.loads if load.item in items and load.stages]
    found = [f"A load of {load.item!r} is of no item, or has no stage."
             for load in laying.loads if load not in known]  # fmt: skip
    strange = [f"{items[load.item].name} is laid in {stage.zone!r}, which is no zone."
               for load in known for stage in load.stages if stage.zone not in zones]  # fmt: skip
    if strange:
        return found + strange
    for item in problem.items:
        loads = [load for load in known if load.item == item.id]
        found += _check_item(problem, item, courses.get(item.id), loads, laying.quantile)
    for load in known:
        found += _check_stages(items[load.item], load, zones)
    for zone in problem.zones:
        found += _check_room(zone, known, items)
        found += _check_lit(zone, known, laying)
        found += _check_clean(zone, known, items)
    return found + _check_hands(problem, known) + list(_check_now(problem, known, items))


def _check_item(
    problem: FireProblem,
    item: FireItem,
    course: Course | None,
    loads: list[LaidLoad],
    quantile: float,
) -> Iterator[str] | list[str]:
    """Check that all of an item is cooked, rested and eaten in time."""
    if course is None or not loads:
        return [f"{item.name} is not cooked at all."]
    at = next(s.at_min for s in problem.servings if s.id == item.serving)
    found = list(_check_whole(item, loads))
    found += check_course(item, course)
    for load in loads:
        found += check_minutes(item, course, load, quantile)
        found += _check_eaten(item, course, load, at, rounds=problem.waves)
    if min(load.eat for load in loads) != at:
        found.append(f"Nothing of {item.name} is eaten at its serving time.")
    return found


def _check_whole(item: FireItem, loads: list[LaidLoad]) -> Iterator[str]:
    """Check weights, areas, whole pieces and numbering."""
    if sum(load.weight_mlb for load in loads) != item.weight_mlb:
        yield f"The loads of {item.name} are not all of its weight."
    if sum(load.area_sq_in for load in loads) != item.area_sq_in:
        yield f"The loads of {item.name} do not add up to its area."
    if any(load.weight_mlb <= 0 < item.weight_mlb for load in loads):
        yield f"A load of {item.name} is empty."
    if sorted(load.wave for load in loads) != list(range(1, len(loads) + 1)):
        yield f"The loads of {item.name} are not numbered from 1."
    if any(load.waves != len(loads) for load in loads):
        yield f"The loads of {item.name} are not as many as they say."
    if item.pieces is not None and item.area_sq_in:
        shares = [load.area_sq_in * item.pieces / item.area_sq_in for load in loads]
        if any(share.denominator != 1 or share < 1 for share in shares):
            yield f"A piece of {item.name} is cut in two."


def _check_eaten(
    item: FireItem, course: Course, load: LaidLoad, at: int, *, rounds: bool
) -> Iterator[str]:
    """Check rest, serving time and waiting of one load."""
    if load.ready - load.off < course.rest_min:
        yield f"{item.name} rests {load.ready - load.off} min, not {course.rest_min}."
    if load.wait < 0:
        yield f"{item.name} is ready {-load.wait} min after it is eaten."
    if load.wait > course.hold_min:
        yield f"{item.name} waits {load.wait} min; {course.hold_min} is the most."
    late = load.eat - at
    if late < 0 or late > (ROUND_MIN if rounds else 0):
        yield f"{item.name} is eaten {late} min after its serving time."
    if late > 0 and load.wait != 0:
        yield f"A further round of {item.name} waits, though it is late."


def _check_stages(item: FireItem, load: LaidLoad, zones: Mapping[str, Zone]) -> Iterator[str]:
    """Check that stages follow each other in zones that give their heat."""
    for stage in load.stages:
        zone = zones[stage.zone]
        if stage.heat not in zone.heats:
            yield f"{zone.name} gives no {stage.heat} heat for {item.name}."
        if zone.meat_free and item.cook_as != "none":
            yield f"{item.name} lies on {zone.name}, which is kept for food without meat."
        if stage.end <= stage.start:
            yield f"A stage of {item.name} takes no time."
    for one, other in itertools.pairwise(load.stages):
        if one.end != other.start:
            yield f"{item.name} is off the fire between two stages."


def _stays(load: LaidLoad, zone: str) -> list[tuple[int, int]]:
    """Return when a load is in a zone; stages that follow each other there are one stay."""
    stays: list[tuple[int, int]] = []
    for stage in load.stages:
        if stage.zone != zone:
            continue
        if stays and stays[-1][1] == stage.start:
            stays[-1] = (stays[-1][0], stage.end)
        else:
            stays.append((stage.start, stage.end))
    return stays


def _check_room(zone: Zone, loads: list[LaidLoad], items: Mapping[str, FireItem]) -> Iterator[str]:
    """Check the area at each start; it can be passed first at no other minute."""
    if zone.area_sq_in is None:
        return
    stays = [(start, end, load) for load in loads for start, end in _stays(load, zone.id)]
    for start, _, load in stays:
        on = [o for begin, end, o in stays if begin <= start < end + CHANGEOVER_MIN]
        used = sum((other.area_sq_in for other in on), Fraction(0))
        if used > zone.area_sq_in:
            name = items[load.item].name
            yield (f"{zone.name} is overfull when {name} goes on: {float(used):.1f} sq in of "
                   f"{float(zone.area_sq_in):.1f}.")  # fmt: skip


def _in_zone(zone: Zone, loads: list[LaidLoad]) -> list[tuple[LaidLoad, LaidStage]]:
    return [(load, stage) for load in loads for stage in load.stages if stage.zone == zone.id]


def _check_lit(zone: Zone, loads: list[LaidLoad], laying: Laying) -> Iterator[str]:
    """Check how long a zone is in use."""
    here = [stage for _, stage in _in_zone(zone, loads)]
    if zone.minutes is None or not here:
        return
    first, last = min(stage.start for stage in here), max(stage.end for stage in here)
    if last - first > zone.minutes:
        yield f"{zone.name} is in use for {last - first} min; it lasts {zone.minutes}."
    if laying.lit.get(zone.id) != first or laying.out.get(zone.id) != last:
        yield f"First and last use of {zone.name} are not told as they are."


def _check_clean(zone: Zone, loads: list[LaidLoad], items: Mapping[str, FireItem]) -> Iterator[str]:
    """Check that food without meat is off before meat comes on, or on its own tray."""
    if zone.meat_free or zone.heats == {"pot"}:
        return
    here = _in_zone(zone, loads)
    meat = [stage.start for load, stage in here if items[load.item].cook_as != "none"]
    for load, stage in here:
        item = items[load.item]
        if item.cook_as == "none" and not load.own_tray and meat and stage.end > min(meat):
            yield f"{item.name} lies on {zone.name} when meat has come on it, without its own tray."


def _check_hands(problem: FireProblem, loads: list[LaidLoad]) -> list[str]:
    """Check that the people there can put on, move and take off; one minute each."""
    moves: dict[int, int] = {}
    for load in loads:
        for minute in (*(stage.start for stage in load.stages), load.off):
            moves[minute] = moves.get(minute, 0) + 1
    return [f"{count} moves in one minute ({minute} min) for {problem.hands} at the fire."
            for minute, count in sorted(moves.items()) if count > problem.hands]  # fmt: skip


def _check_now(
    problem: FireProblem, loads: list[LaidLoad], items: Mapping[str, FireItem]
) -> Iterator[str]:
    """Check that nothing goes on before it is home and its fire is hot."""
    if problem.now is None:
        return
    zero = min(problem.servings, key=lambda serving: serving.at_min)
    now = math.ceil(Fraction(str((problem.now - zero.at).total_seconds())) / 60) + zero.at_min
    home, zones = now + (problem.ride_min or 0), {zone.id: zone for zone in problem.zones}
    for load in loads:
        name = items[load.item].name
        if load.start < home:
            yield f"{name} would have gone on {home - load.start} min before it is home."
        for stage in load.stages:
            early = home + heating(zones[stage.zone], stage.heat) - stage.start
            if early > 0:
                yield f"{name} is in {stage.zone} {early} min before that can be hot."


def check_waits(
    problem: FireProblem, laying: Laying, waits: Mapping[tuple[str, int], str]
) -> list[str]:
    """Return where done food waits in a zone with raw food in it, or without room for it.

    Parameters
    ----------
    waits : mapping of (item id, wave) to zone id
        Loads that wait in a zone; the others wait on a clean board.

    Returns
    -------
    list of str
        Empty if no raw food is in a zone while done food waits there, and there is room for all
        that waits.
    """
    items = {item.id: item for item in problem.items}
    zones = {zone.id: zone for zone in problem.zones}
    found = []
    for load in laying.loads:
        zone = zones.get(waits.get((load.item, load.wave), ""))
        if zone is None:
            continue
        name = items[load.item].name
        found += [f"{items[other.item].name} cooks in {zone.id!r} while {name} waits there, done."
                  for other in laying.loads for stage in other.stages
                  if other is not load and stage.zone == zone.id
                  and stage.start < load.eat and stage.end > load.off]  # fmt: skip
        # as in a zone where food cooks, the room can be passed first only when a load comes in
        beside = sum((other.area_sq_in for other in laying.loads
                      if waits.get((other.item, other.wave)) == zone.id
                      and other.off <= load.off < other.eat), Fraction(0))  # fmt: skip
        if zone.area_sq_in is not None and beside > zone.area_sq_in:
            found.append(f"{zone.name} is overfull when {name} comes to wait there.")
    return found
