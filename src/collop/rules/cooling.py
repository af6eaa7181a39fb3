"""Cooling of cooked food: by when, and whether readings show that it was kept.

References
----------
.. [1] Wisconsin Food Code 3-501.14: from 135 to 70 degF within 2 h and to 41 degF within 6 h in
   all; from room temperature to 41 degF within 4 h. Source id ``WI501_14``, rows SF012 to SF014.
   (Older texts begin at 140 degF.)
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import pairwise

from collop.errors import BadValue
from collop.measures import Temperature
from collop.reference.rulebook import PublishedRule, rule_row
from collop.rules.choosing import NOTHING_CHOSEN, figure
from collop.rules.limits import Reading, hot_limit, in_order

__all__ = ["CoolingStep", "CoolingVerdict", "cooling_deadlines", "cooling_verdict"]

#: What a step may be.
STATES = ("kept", "broken", "not yet", "not shown")


@dataclass(frozen=True, slots=True, kw_only=True)
class CoolingStep:
    """One step of cooling.

    Parameters
    ----------
    to : Temperature
        What it must come down to.
    within : Decimal
        Longest time from the start of cooling [h].
    state : str
        ``kept``, ``broken``, ``not yet`` (time is left) or ``not shown``: the readings lie too far
        apart to tell.
    at_least_min, at_most_min : int or None
        How long it took, within two bounds; `at_most_min` is None while it is not there, or if its
        start is not known.
    by : datetime or None
        When it must be there at the latest; None if its start is not known.
    row : PublishedRule
        The published row.
    """

    to: Temperature
    within: Decimal
    state: str
    at_least_min: int
    at_most_min: int | None
    by: datetime | None
    row: PublishedRule


@dataclass(frozen=True, slots=True, kw_only=True)
class CoolingVerdict:
    """Whether readings show that food was cooled in time.

    Parameters
    ----------
    state : str
        As `CoolingStep.state`; the worst of the steps.
    steps : tuple of CoolingStep
        In order.
    say : str
        One sentence.
    """

    state: str
    steps: tuple[CoolingStep, ...]
    say: str


@dataclass(frozen=True, slots=True)
class _Begin:
    """When cooling began: not before `earliest`, not after `latest`."""

    earliest: datetime | None
    latest: datetime


def _plan(*, from_room: bool) -> list[tuple[str, str, Temperature]]:
    """Return row, setting and end of each step."""
    cold = _end("SF014" if from_room else "SF013")
    if from_room:
        return [("SF014", "cooling_room_h", cold)]
    return [("SF012", "cooling_first_h", _end("SF012")), ("SF013", "cooling_total_h", cold)]


def _end(rule_id: str) -> Temperature:
    found = rule_row(rule_id).figure
    assert found is not None  # the table is checked when it is read
    return Temperature.fahrenheit(found)


def _span(name: str, chosen: Mapping[str, str]) -> timedelta:
    return timedelta(seconds=int(figure(name, chosen) * 3600))


def cooling_deadlines(
    began: datetime, chosen: Mapping[str, str] = NOTHING_CHOSEN, *, from_room: bool = False
) -> tuple[tuple[Temperature, datetime], ...]:
    """Return what it must come down to, and by when.

    Parameters
    ----------
    began : datetime
        When it passed 135 degF, or when it was made from things at room temperature.
    chosen : mapping of str to str
        The shop's choices.
    from_room : bool
        Whether it was made from things at room temperature.

    Examples
    --------
    >>> [(t.text(), at.hour) for t, at in cooling_deadlines(datetime(2026, 6, 9, 14))]
    [('21 °C (70 °F)', 16), ('5 °C (41 °F)', 20)]
    """
    plan = _plan(from_room=from_room)
    return tuple((to, began + _span(name, chosen)) for _, name, to in plan)


def _began(ordered: Sequence[Reading], *, from_room: bool) -> _Begin:
    if from_room:
        return _Begin(ordered[0].at, ordered[0].at)
    # cooling begins as it passes the least temperature of hot holding, as published
    hot = hot_limit().temperature
    earliest, latest = None, ordered[0].at
    for number, one in enumerate(ordered):
        if one.temperature >= hot:
            earliest = one.at
            latest = ordered[number + 1].at if number + 1 < len(ordered) else one.at
    return _Begin(earliest, latest)


def _slow_dip(ordered: Sequence[Reading], chosen: Mapping[str, str]) -> list[Reading]:
    """Return the readings of a slow cooling that was heated again, none if there was none.

    Heat does not set the clock back: what stood too long before it was heated again is broken.
    """
    hot = hot_limit().temperature
    tops = [number for number, one in enumerate(ordered) if one.temperature >= hot]
    for first, last in pairwise(tops):
        dip = list(ordered[first:last])
        began = _began(dip, from_room=False)
        steps = (_step(dip, began, plan, chosen, dip[-1].at) for plan in _plan(from_room=False))
        if len(dip) > 1 and any(step.state == "broken" for step in steps):
            return dip
    return []


def _minutes(span: timedelta, *, up: bool = False) -> int:
    seconds = max(span.total_seconds(), 0)
    return -int(-seconds // 60) if up else int(seconds // 60)


def _step(
    ordered: Sequence[Reading], began: _Begin, plan: tuple[str, str, Temperature],
    chosen: Mapping[str, str], now: datetime,
) -> CoolingStep:  # fmt: skip
    rule_id, name, to = plan
    within = _span(name, chosen)
    over = [one.at for one in ordered if one.temperature > to]
    under = [one.at for one in ordered if one.temperature <= to and (not over or one.at > over[-1])]
    since = over[-1] if over else began.latest
    least = since - began.latest
    if under:
        most = None if began.earliest is None else under[0] - began.earliest
        state = "kept" if most is not None and most <= within else "not shown"
    else:
        # nobody has seen it down yet: it is over until now
        most, least = None, max(least, now - began.latest)
        waited = None if began.earliest is None else now - began.earliest
        state = "not yet" if waited is not None and waited <= within else "not shown"
    # still over at the very end of the time is too late: it came down after that reading
    if least > within or (over and over[-1] - began.latest >= within):
        state = "broken"
    return CoolingStep(
        to=to, within=figure(name, chosen), state=state, at_least_min=_minutes(least),
        at_most_min=None if most is None else _minutes(most, up=True),
        by=None if began.earliest is None else began.earliest + within, row=rule_row(rule_id),
    )  # fmt: skip


def cooling_verdict(
    readings: Sequence[Reading], chosen: Mapping[str, str] = NOTHING_CHOSEN, *,
    from_room: bool = False, now: datetime | None = None,
) -> CoolingVerdict:  # fmt: skip
    """Return whether readings show that food was cooled in time.

    Parameters
    ----------
    readings : sequence of Reading
        At least one, in any order, of the middle of the food. To begin in time the first is at
        135 degF or above; from room temperature the first is of the making.
    chosen : mapping of str to str
        The shop's choices.
    from_room : bool
        Whether it was made from things at room temperature.
    now : datetime, optional
        Where it is not down yet; left out, the last reading.

    Raises
    ------
    BadValue
        If there is no reading, or `now` is before the last one.

    Notes
    -----
    When it passed a temperature is known only to lie between two readings. A step is kept if it is
    so even at the worst, and broken only if it is so even at the best. Food that was heated again
    is judged before that too.

    Examples
    --------
    >>> at = lambda hour, minute, f: Reading(
    ...     datetime(2026, 6, 9, hour, minute), Temperature.fahrenheit(f))
    >>> cooling_verdict([at(14, 0, 135), at(15, 50, 70), at(19, 45, 41)]).state
    'kept'
    >>> cooling_verdict([at(14, 0, 136), at(14, 10, 134), at(16, 20, 71)]).state
    'broken'
    """
    if not readings:
        raise BadValue("Cooling has no reading; read the middle of the food and put it down.")
    ordered = in_order(readings)
    until = now or ordered[-1].at
    if until < ordered[-1].at:
        raise BadValue(f"The last reading is of {ordered[-1].at:%H:%M}, after now; check its time.")
    if not from_room and (dip := _slow_dip(ordered, chosen)):
        ordered, until = dip, dip[-1].at
    began = _began(ordered, from_room=from_room)
    steps = tuple(_step(ordered, began, plan, chosen, until) for plan in _plan(from_room=from_room))
    order = ("broken", "not shown", "not yet", "kept")
    worst = min((step.state for step in steps), key=order.index)
    return CoolingVerdict(state=worst, steps=steps, say=_say(worst, steps, began))


def _say(worst: str, steps: Sequence[CoolingStep], began: _Begin) -> str:
    step = next(one for one in steps if one.state == worst)
    to = f"{step.to.in_fahrenheit(0)} °F within {step.within.normalize():f} h"
    if worst == "kept":
        return "Cooled in time at every step."
    if worst == "broken":
        return f"Not cooled to {to}: it took at least {step.at_least_min} min. Do not sell it."
    if worst == "not yet":
        assert step.by is not None  # without a start nothing is still in time
        return f"To come down to {to}: by {step.by:%H:%M}."
    if began.earliest is None:
        return (f"Whether it came to {to} is not shown: no reading at "
                "135 °F or above says when it began.")  # fmt: skip
    took = "" if step.at_most_min is None else f" {step.at_least_min} to {step.at_most_min} min:"
    return f"Whether it came to {to} is not shown:{took} the readings lie too far apart."
