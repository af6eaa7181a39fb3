"""The loads of a spread as they lie on the fire, from the schedule of the fire kernel."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from collop.fire.laying import Laying
from collop.fire.lighting import RIDE_MIN, heating
from collop.spread.firing import Hearth, fire_of, zone_name
from collop.spread.options import thaw_hours_of
from collop.spread.picks import Pick
from collop.spread.plan import Load
from collop.spread.problem import Fire

__all__ = ["collect_by", "late_min", "loads_of"]

# the hour to collect is told in steps that are easy to say [min]
_STEP_MIN = 5


def late_min(hearth: Hearth, picks: Sequence[Pick]) -> int:
    """Return how long after the meal the last round is eaten [min]; 0 if all at once."""
    if hearth.problem.fire is None:
        return 0
    laying = hearth.lay(picks)
    assert isinstance(laying, Laying)  # a spread that cannot be cooked is not shown
    return max((load.eat for load in laying.loads), default=0)


def collect_by(hearth: Hearth, picks: Sequence[Pick]) -> datetime | None:
    """Return the latest hour to collect so that the ride, thawing and each heat's lighting fit.

    Returns
    -------
    datetime or None
        Rounded down to five minutes; None where the fire or the hour of the meal is not known.

    Notes
    -----
    A ride nobody told takes `collop.fire.lighting.RIDE_MIN`. Something collected then still goes
    on as it is laid here; a fire told otherwise later may need more.
    """
    at = hearth.problem.use_at
    if hearth.problem.fire is None or at is None:
        return None
    laying = hearth.lay(picks)
    assert isinstance(laying, Laying)  # a spread that cannot be cooked is not shown
    made, _ = fire_of(hearth.problem, picks, rounds=hearth.rounds)
    zones = {zone.id: zone for zone in made.zones}
    thaws = {pick.option.offer.id: thaw_hours_of(pick.option.offer) for pick in picks}
    home = min(
        stage.start - max(heating(zones[stage.zone], stage.heat), _thaw_min(thaws[load.item]))
        for load in laying.loads
        for stage in load.stages[:1]
    )
    lit = min(
        stage.start - heating(zones[stage.zone], stage.heat)
        for load in laying.loads
        for stage in load.stages
    )
    minutes = (min(home, lit) - RIDE_MIN) // _STEP_MIN * _STEP_MIN
    return at + timedelta(minutes=minutes)


def _thaw_min(hours: float) -> int:
    return -int(-60 * hours // 1)


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
