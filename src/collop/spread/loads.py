"""The loads of a spread as they lie on the fire, from the schedule of the fire kernel."""

from __future__ import annotations

from collections.abc import Sequence

from collop.fire.laying import Laying
from collop.spread.firing import Hearth, zone_name
from collop.spread.picks import Pick
from collop.spread.plan import Load
from collop.spread.problem import Fire

__all__ = ["late_min", "loads_of"]


def late_min(hearth: Hearth, picks: Sequence[Pick]) -> int:
    """Return how long after the meal the last round is eaten [min]; 0 if all at once."""
    if hearth.problem.fire is None:
        return 0
    laying = hearth.lay(picks)
    assert isinstance(laying, Laying)  # a spread that cannot be cooked is not shown
    return max((load.eat for load in laying.loads), default=0)


def loads_of(hearth: Hearth, picks: Sequence[Pick]) -> tuple[Load, ...]:
    """Return what lies on the zones of the fire, by start; nothing if the fire is not known.

    What cooks in oven or pot is not drawn.  Times are minutes from the lighting of the fire, which
    lasts just until the last load comes off it; a zone that is used before that is lit by itself,
    as late as it can be, and its loads are told from its own lighting.
    """
    fire = hearth.problem.fire
    if fire is None:
        return ()
    laying = hearth.lay(picks)
    assert isinstance(laying, Laying)  # a spread that cannot be cooked is not shown
    stages = [
        (load, stage, name)
        for load in laying.loads
        for stage in load.stages
        if (name := zone_name(stage.zone)) is not None
    ]
    if not stages:
        return ()
    lit = _lit(fire, [(name, stage.start, stage.end) for _, stage, name in stages])
    found = [
        Load(
            at_min=stage.start - lit[name],
            minutes=stage.minutes,
            zone=name,
            area_sq_in=load.area_sq_in,
            offer_id=load.item,
            heat=stage.heat.partition(" @ ")[0],
            wave=load.wave,
            ready_min=load.ready - lit[name],
            eat_min=load.eat - lit[name],
            own_tray=load.own_tray,
        )
        for load, stage, name in stages
    ]
    return tuple(sorted(found, key=lambda one: (one.at_min, one.offer_id, one.wave)))


def _lit(fire: Fire, spans: Sequence[tuple[str, int, int]]) -> dict[str, int]:
    """Return when each zone is lit [min from the meal]; spans are (zone, start, end)."""
    together = max(end for *_, end in spans) - fire.minutes
    lit = {}
    for zone in {name for name, *_ in spans}:
        first = min(start for name, start, _ in spans if name == zone)
        last = max(end for name, _, end in spans if name == zone)
        lit[zone] = together if first >= together else last - fire.minutes
    return lit
