"""What happens before the fire, after it, and beside it: steps back from the meal, and cautions.

Every published figure is read from its table; what is common practice says so here. Local food
rules come first.

References
----------
.. [1] USDA FSIS, Serving temperatures and two-hour rule. Source id ``FSIS_SERVE``.
.. [2] National Cattlemen's Beef Association, Grilling guidelines: medium charcoal, ash-covered.
   Source id ``NCBA_GRILL``. The minutes until then are common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from collop.fire.around_after import after_steps, cautions
from collop.fire.around_items import (
    KINDS,
    Step,
    hours_text,
    item_steps,
    moment_of,
    step,
    thaw_of,
    thaw_refusal,
)
from collop.fire.clocks import out_minutes
from collop.fire.laying import Laying
from collop.fire.lighting import (
    COALS_MIN,
    GAS_MIN,
    OVEN_MIN,
    PLATE_MIN,
    heating,
    home_minute,
    is_gas,
)
from collop.fire.problem import COAL_HEATS, METHODS, FireItem, FireProblem

__all__ = [
    "COALS_MIN",
    "GAS_MIN",
    "KINDS",
    "OVEN_MIN",
    "PLATE_MIN",
    "after_steps",
    "before_steps",
    "cautions",
    "coals",
    "earliest_start",
    "thaw_of",
    "thaw_refusal",
]

_LIGHT = {
    "coals": "light the coals; ready when covered with ash",
    "oven": "light it",
    "plate": "heat it",
}


#: Said once for all figures of salt.
SALT_NOTE = "Figures of dry salt: from memory, no published source; turkey's from a web page."


def earliest_start(problem: FireProblem, item: FireItem) -> int | None:
    """Return the first minute an item can go on: ride home, then lighting and thawing at once.

    Returns
    -------
    int or None
        Minutes from the first serving time; None where now is not known.
    """
    home = home_minute(problem)
    if home is None:
        return None
    heat = METHODS[item.method][0]
    ready = min((heating(zone, heat) for zone in problem.zones if heat in zone.heats), default=0)
    thaw = thaw_of(problem, item, 0)
    if thaw is not None:
        ready = max(ready, thaw.soonest_min)
    return home + ready


def _first_uses(laying: Laying) -> dict[tuple[str, str], tuple[int, int]]:
    """Return first start and last end by zone and kind of fire: coals, oven, plate."""
    found: dict[tuple[str, str], tuple[int, int]] = {}
    for load in laying.loads:
        for stage in load.stages:
            key = stage.zone, "coals" if stage.heat in COAL_HEATS else stage.heat
            start, end = found.get(key, (stage.start, stage.end))
            found[key] = min(start, stage.start), max(end, stage.end)
    return found


def coals(problem: FireProblem, laying: Laying) -> list[Step]:
    """Return when to light each grill, when it is ready and when it is done with.

    Returns
    -------
    list of dict
        ``zone``, ``name``, ``light``, ``ready``, ``out`` (local ISO times), in the order of the
        zones; grills that are not used are left out. `ready` is the first use; `out` is when coals
        that last a stated time are spent, or the last use of other grills.
    """
    uses = _first_uses(laying)
    found = []
    for zone in problem.zones:
        if (zone.id, "coals") not in uses:
            continue
        start, end = uses[zone.id, "coals"]
        start = min(start, laying.lit.get(zone.id, start))
        spent = end if zone.minutes is None else max(end, start + zone.minutes)
        times = {"light": start - heating(zone, "direct"), "ready": start, "out": spent}
        found.append(
            {"zone": zone.id, "name": zone.name}
            | {
                key: moment_of(problem, at).isoformat(timespec="minutes")
                for key, at in times.items()
            }
        )
    return found


def before_steps(
    problem: FireProblem, loads: Mapping[str, int], laying: Laying | None = None
) -> list[Step]:
    """Return what to do before the food goes on, back from the first serving time.

    Parameters
    ----------
    loads : mapping of item id to int
        When the first load of each item goes on [min from the first serving time]; items that are
        not in it have no steps.
    laying : Laying or None
        If given, each zone is lit by its own first use; else by the items whose first heat it is.

    Returns
    -------
    list of dict
        ``at`` (local ISO time, or None for what has no hour), ``item`` (id or None), ``kind`` (one
        of `KINDS`), ``what``; what has no hour first, then by the clock.

    Raises
    ------
    BadValue
        If the calendar has no such day.
    """
    found = [*_ride(problem), *_lighting(problem, loads, laying)]
    for item in problem.items:
        if item.id in loads:
            found += item_steps(problem, item, loads[item.id])
    if any(one["kind"] == "salt" for one in found):
        found.append(step(None, "salt", SALT_NOTE))
    return sorted(found, key=lambda one: one["at"] or "")


def _ride(problem: FireProblem) -> Iterator[Step]:
    if all(item.cook_as == "none" for item in problem.items):
        return
    limit, ride = out_minutes(problem.air_f), problem.ride_min
    fridge = "straight to the fridge"
    if any(item.frozen for item in problem.items):
        fridge += ", what is frozen to the freezer"
    most = hours_text(limit)
    if ride is None:
        half = hours_text(limit // 2)
        words = f"Ride home: {fridge}; in a cool box if it is over {half}."
        yield step(None, "ride", words)
        return
    words = f"Ride home, {hours_text(ride)}: "
    if ride * 2 > limit:
        words += f"in a cool box with ice; without it {most} is the most."
    else:
        words += f"{fridge}; it counts in the {most} out of it."
    yield step(None, "ride", words)


def _lighting(
    problem: FireProblem, loads: Mapping[str, int], laying: Laying | None
) -> Iterator[Step]:
    uses: dict[tuple[str, str], int] = {}
    if laying is not None:
        uses = {key: first for key, (first, _) in _first_uses(laying).items()}
    else:
        for item in problem.items:
            heat = METHODS[item.method][0]
            zone = next((zone for zone in problem.zones if heat in zone.heats), None)
            if item.id in loads and zone is not None:
                key = zone.id, "coals" if heat in COAL_HEATS else heat
                uses[key] = min(uses.get(key, loads[item.id]), loads[item.id])
    for zone in problem.zones:
        for kind, words in _LIGHT.items():
            if (zone.id, kind) in uses:
                heat = "direct" if kind == "coals" else kind
                if kind == "coals" and is_gas(zone):
                    words = "light it, lid down"  # noqa: PLW2901 - the words of this zone
                at = moment_of(problem, uses[zone.id, kind] - heating(zone, heat))
                yield step(at, "light", f"{zone.name}: {words}.")
