"""Steps of one item before the fire: thaw, salt, out of the fridge; and the words they share.

Every published figure is read from its table; what is common practice says so here.

References
----------
.. [1] Turkey thawing times (USDA based), several reprints. Source id ``THAW_TURKEY``.
.. [2] USDA FSIS, Serving temperatures and two-hour rule. Source id ``FSIS_SERVE``.
"""

from __future__ import annotations

from datetime import datetime
from fractions import Fraction
from typing import Any

from collop.fire.clocks import degrees, form_of, out_minutes
from collop.fire.clocks_salt import LEAD_H, Salt, salt_plan, takes_salt
from collop.fire.clocks_thaw import Thaw, ThawWay, moment_before, thaw_plan
from collop.fire.problem import FireItem, FireProblem
from collop.measures import Weight, WeightUnit
from collop.reference.keepings import keeping_row

__all__ = [
    "KINDS",
    "OUT_MIN",
    "clock_text",
    "hours_text",
    "item_steps",
    "moment_of",
    "step",
    "thaw_of",
    "thaw_refusal",
]

#: What a step before the fire is about.
KINDS = ("ride", "thaw", "salt", "fridge", "light")
#: Out of the fridge before the fire [min]: time to pat it dry; common practice.
OUT_MIN = 10
#: Less salt than this is not weighed in a kitchen [g].
_LEAST_SALT_G = 3
#: From this on the piece does not go on fridge-cold [degC]: then it has to warm first.
_WARMED_C = 10.0

Step = dict[str, Any]


def moment_of(problem: FireProblem, minute: int) -> datetime:
    """Return the local time of a minute counted from the first serving time.

    Raises
    ------
    BadValue
        If the calendar has no such day.
    """
    return moment_before(problem.servings[0].at, -minute)


def clock_text(problem: FireProblem, at: datetime) -> str:
    """Return an hour for people, with the day if it is another than that of the first meal."""
    return f"{at:%H:%M}" if at.date() == problem.servings[0].at.date() else f"{at:%a %H:%M}"


def _piece(item: FireItem) -> Weight:
    """Return the heaviest frozen piece; the whole of it where it is sold by weight."""
    mlb = item.piece_mlb or 0
    if item.pieces or not mlb:  # what is told of one piece is never under its fair share of all
        mlb = max(mlb, -(-item.weight_mlb // (item.pieces or 1)))
    return Weight.of(Fraction(mlb, 1000), WeightUnit.LB)


def thaw_of(problem: FireProblem, item: FireItem, start_min: int) -> Thaw | None:
    """Return how a frozen item thaws before it goes on; None if it is not frozen.

    Parameters
    ----------
    start_min : int
        When it goes on the fire [min from the first serving time].

    Raises
    ------
    BadValue
        If the calendar has no such day.
    """
    if not item.frozen:
        return None
    return thaw_plan(
        _piece(item), item.pieces, form_of(item), problem.now, moment_of(problem, start_min),
        thickness_mm=item.body.thickness_mm if item.body else None,
        ride_min=problem.ride_min or 0,
    )  # fmt: skip


def thaw_refusal(problem: FireProblem, item: FireItem, start_min: int) -> str | None:
    """Return why an item cannot be thawed before it goes on, in one sentence; None if it can."""
    thaw = thaw_of(problem, item, start_min)
    if thaw is None or thaw.best is not None:
        return None
    fridge, water, there = thaw.refrigerator, thaw.cold_water, max(thaw.minutes or 0, 0)
    by = clock_text(problem, moment_of(problem, start_min))
    charted = "" if water.charted else ", too long for its chart"
    ways = (fridge.planned_min, fridge.least_min, water.planned_min, there)
    slow, least, wet, left = (hours_text(minutes) for minutes in ways)
    return (
        f"{item.name} cannot thaw by {by}: the fridge takes {slow}, never under {least}; cold "
        f"water takes {wet} with someone beside it{charted}; there is {left}."
    )


def hours_text(minutes: int) -> str:
    """Return a time in words, e.g. ``2 h 36 min``."""
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def step(at: datetime | None, kind: str, what: str, item: FireItem | None = None) -> Step:
    """Return one step of the plan; its hour as ISO text, None where it has none.

    `kind` is one of `KINDS`.
    """
    when = None if at is None else at.isoformat(timespec="minutes")
    return {"at": when, "item": None if item is None else item.id, "kind": kind, "what": what}


def _thaw_only(problem: FireProblem, item: FireItem, start: int) -> list[Step]:
    thaw = thaw_of(problem, item, start)
    assert thaw is not None  # asked for frozen items alone
    return [_thaw_step(problem, item, start, thaw.best)]


def item_steps(problem: FireProblem, item: FireItem, start: int) -> list[Step]:
    """Return thaw, salt and fridge of one item that goes on at minute `start`."""
    if item.cook_as == "none":
        return _thaw_only(problem, item, start) if item.frozen else []
    put_on = moment_of(problem, start)
    from_at = None if problem.now is None else moment_before(problem.now, -(problem.ride_min or 0))
    steps = []
    salted = takes_salt(item)
    way: ThawWay | None = None
    if item.frozen:
        lead = LEAD_H[form_of(item)][0] * 60 if salted else 0
        thaw = thaw_of(problem, item, start - lead)
        assert thaw is not None  # it is frozen
        if not thaw.refrigerator.fits:  # no time to salt a thawed piece as well
            lead, thaw = 0, thaw_of(problem, item, start)
            assert thaw is not None
        way = thaw.best
        from_at = way.done if way is not None else put_on
        steps.append(_thaw_step(problem, item, start, way))
    if salted and (way is not None or not item.frozen):
        weight = Weight.of(Fraction(item.weight_mlb, 1000), WeightUnit.LB)
        salt = salt_plan(weight, form_of(item), item.species, put_on, from_at=from_at)
        if salt.grams >= _LEAST_SALT_G:
            steps.append(_salt_step(item, salt, put_on))
    if way is None or way.way != "cold water":
        steps.append(_out_step(problem, item, put_on))
    return steps


def _thaw_step(problem: FireProblem, item: FireItem, start: int, way: ThawWay | None) -> Step:
    if way is None:
        return step(None, "thaw", thaw_refusal(problem, item, start) or "", item)
    several = f", {item.pieces} pieces side by side" if (item.pieces or 1) > 1 else ""
    if way.way == "refrigerator":
        row = keeping_row("store", "refrigerator")
        assert row.high is not None
        cold = degrees(row.high, problem.unit, least=False)
        return step(
            way.start,
            "thaw",
            f"{item.name}: from the freezer to the fridge, on a tray{several}; "
            f"{hours_text(way.planned_min)} at {cold} or below. Feel that it is soft to the middle "
            "before the fire.",
            item,
        )
    changes = ", ".join(f"{at:%H:%M}" for at in way.changes)
    change = f" Fresh water every 30 min: {changes}." if changes else ""
    return step(
        way.start,
        "thaw",
        f"{item.name}: into cold water in tight wrapping{several}, {hours_text(way.planned_min)}, "
        f"with someone at home.{change} Straight to the fire at "
        f"{clock_text(problem, moment_of(problem, start))}.",
        item,
    )


def _salt_step(item: FireItem, salt: Salt, put_on: datetime) -> Step:
    amount = f"{salt.grams} g ({salt.ounces} oz) of dry salt, {salt.percent} % of its raw weight"
    tail = f" ({salt.least_g} to {salt.most_g} g)"
    if salt.at is None:
        what = f"{item.name}: no time to salt ahead; {amount} as it goes on{tail}."
    else:
        what = f"{item.name}: if you salt ahead, {amount}, then back in the fridge{tail}."
    return step(salt.at or put_on, "salt", what, item)


def _out_step(problem: FireProblem, item: FireItem, put_on: datetime) -> Step:
    limit = out_minutes(problem.air_f)
    if item.body is not None and item.body.start_c >= _WARMED_C:
        minutes = limit // 2
        what = (
            f"{item.name}: out of the fridge; its minutes count on about "
            f"{round(item.body.start_c)} °C ({round(item.body.start_c * 1.8 + 32)} °F) in the "
            f"middle. All time out counts in the {hours_text(limit)}."
        )
        return step(moment_before(put_on, minutes), "fridge", what, item)
    what = f"{item.name}: out of the fridge and patted dry; it need not warm first."
    return step(moment_before(put_on, OUT_MIN), "fridge", what, item)
