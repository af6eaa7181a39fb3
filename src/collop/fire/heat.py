"""The heat kernel: one piece, when its core gets there, and how sure that is."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from collop.fire.conduction import Bodies, Leg, Phase, Slabs, Trace, run
from collop.fire.heat_bands import bands_of, sampled
from collop.fire.heat_reading import MOST_MINUTES, HeatProblem, read_heat
from collop.fire.surfaces import NO_CAP_C, Face
from collop.reference import CookMinimum, cook_minimum

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["heat"]

PLAN_ID = "collop.heat.plan/1"
_GUIDE = "A time is a guide; the published minimum temperature is the rule."
# steps as a share of the time heat takes through the piece, and the most of them
_FINE, _MOST_STEPS = 0.003, 4000
_TERMS = 24
# after so many times the time of the slowest change, nothing moves any more
_SETTLED = 40.0


def heat(problem: object) -> dict[str, Any]:
    """Work out how a piece heats.

    Parameters
    ----------
    problem : object
        Parsed JSON of the ``collop.heat/1`` contract.

    Returns
    -------
    dict
        The ``collop.heat.plan/1`` plan.

    Raises
    ------
    ProblemError
        With the path of the first bad value.

    Examples
    --------
    >>> plan = heat({"schema": "collop.heat/1", "shape": "sphere", "half_thickness_m": 0.03,
    ...     "alpha_m2_s": 1.3e-7, "k_w_mk": 0.48, "h_w_m2k": 95, "start_c": 5, "medium_c": 60,
    ...     "at_min": [20], "until_core_c": 57})
    >>> plan["core_c"], plan["minutes_to_core"]
    ([30.64], 57.87)
    """
    asked = read_heat(problem)
    core, surface, upper = _at_times(asked)
    minutes, rest = _until(asked)
    return {
        "schema": PLAN_ID,
        "name": asked.name,
        "core_c": [round(figure, 3) for figure in core],
        "surface_c": [round(figure, 3) for figure in surface],
        "upper_c": None if upper is None else [round(figure, 3) for figure in upper],
        "theta": _theta(asked, core, surface),
        "minutes_to_core": None if minutes is None else round(minutes, 2),
        "rest": rest,
        "bands": _bands(asked, minutes),
        "assumptions": list(_notes(asked, core, minutes)),
    }


def _notes(asked: HeatProblem, core: list[float], minutes: float | None) -> Iterator[str]:
    yield _GUIDE
    if any(figure < 0.0 for figure in (*core, asked.start_c)):
        yield "Freezing is left out: below 0 degC the piece is taken as unfrozen."
    if asked.until_c is None:
        return
    least = cook_minimum("whole")
    if asked.start_c < asked.until_c and least.is_missed_by(asked.until_c):
        yield (
            f"{_under(asked.until_c, least)} is under every published minimum: the least is "
            f"{_both(float(least.temperature.in_celsius(6)))} and {least.rest_min} min rest, "
            f"for {least.rule}."
        )
    if minutes is None:
        yield f"The core does not reach {_both(asked.until_c)} within a week."


def _both(celsius: float, places: int = 1) -> str:
    """Return a temperature in both scales, to a tenth; the whole degrees without one."""
    fahrenheit = round(celsius * 1.8 + 32, places)
    degree = "\N{DEGREE SIGN}"
    return f"{fahrenheit:.10g} {degree}F ({round(celsius, places):.10g} {degree}C)"


def _under(celsius: float, least: CookMinimum) -> str:
    """Return a core that is under a minimum, with so many places that it reads as under it."""
    rule_f = float(least.temperature.in_fahrenheit(6))
    places = next((n for n in range(1, 10) if round(celsius * 1.8 + 32, n) < rule_f), 10)
    return _both(celsius, places)


def _pieces(asked: HeatProblem) -> Bodies | Slabs:
    if len(asked.faces) == 2:
        return Slabs(2.0 * asked.half_m, asked.alpha, asked.k, asked.start_c)
    return Bodies(asked.half_m, asked.shape, asked.alpha, asked.k, asked.start_c)


def _slowest_s(asked: HeatProblem) -> float:
    """Return the time heat takes through the piece [s], longer where little heat comes."""
    least = min(float(face.h) for face in asked.faces)
    return asked.half_m**2 / asked.alpha * (1.0 + asked.k / (least * asked.half_m))


def _settled_min(asked: HeatProblem) -> float:
    """Return the time after which nothing moves any more [min], a week at most."""
    return min(MOST_MINUTES, _SETTLED * 4.0 * _slowest_s(asked) / 60.0)


def _step_s(asked: HeatProblem, minutes: float) -> float:
    """Return a step that follows the piece, without more of them than can be taken."""
    linear = all(
        face.cap_c == NO_CAP_C and face.wetness == 0.0 and face.q_rad == 0.0 for face in asked.faces
    )
    scale = _slowest_s(asked) if linear else asked.half_m**2 / asked.alpha
    return max(min(_FINE * scale, 30.0), minutes * 60.0 / _MOST_STEPS, 1e-3)


def _faces_at(asked: HeatProblem, minute: float) -> Face | tuple[Face, Face]:
    """Return what the piece stands before just after a minute."""
    if len(asked.faces) == 1:
        return asked.faces[0]
    lower, upper = asked.faces
    turned = sum(1 for one in asked.turns_min if one <= minute) % 2
    return (upper, lower) if turned else (lower, upper)


def _legs(asked: HeatProblem, stops: list[float]) -> list[Leg]:
    """Return the legs between times that rise, the first of them 0."""
    return [Leg(after - before, _faces_at(asked, before)) for before, after in pairwise(stops)]


def _at_times(
    asked: HeatProblem, position: float = 0.0
) -> tuple[list[float], list[float], list[float] | None]:
    """Return the core, the surface, and the upper one of two [degC], at the times asked for."""
    if not asked.at_min:
        return [], [], None if len(asked.faces) == 1 else []
    settled = _settled_min(asked)
    # a piece that is turned never comes to stand still
    times = [t if asked.turns_min else min(t, settled) for t in asked.at_min]
    stops = sorted({0.0, *times, *(t for t in asked.turns_min if t < max(times))})
    if len(stops) == 1:
        stops.append(0.0)
    phases = [Phase([leg]) for leg in _legs(asked, stops)]
    step = _step_s(asked, stops[-1])
    trace = run(_pieces(asked), phases, step_s=step, terms=_TERMS, position=position)
    last = np.flatnonzero(np.diff(trace.phase_of, append=len(phases)))

    def at(history: Floats) -> list[float]:
        ends = [float(history[last[max(stops.index(t) - 1, 0)], 0]) for t in times]
        return [end if t else asked.start_c for t, end in zip(times, ends, strict=True)]

    core, faces = at(trace.core_c), [at(one) for one in trace.surface_c]
    return core, faces[0], faces[1] if len(faces) == 2 else None


def _theta(asked: HeatProblem, core: list[float], surface: list[float]) -> list[float | None]:
    medium = asked.medium_c
    if medium is None or medium == asked.start_c:
        return [None] * len(core)
    there = core
    if asked.position == 1.0:
        there = surface
    elif asked.position:
        there = _at_times(asked, asked.position)[0]
    return [round((figure - medium) / (asked.start_c - medium), 6) for figure in there]


def _phases(asked: HeatProblem, faces: HeatProblem, horizon: float) -> list[Phase]:
    """Return the heating up to the core asked for, or the last time, and the rest.

    `faces` is the problem whose faces are met: those of `asked`, or sampled ones.
    """
    stops = sorted({0.0, horizon, *(t for t in asked.turns_min if t < horizon)})
    legs = _legs(faces, stops)
    cooling = asked.until_c is not None and asked.until_c < asked.start_c
    phases = [Phase(legs, asked.until_c, cooling=cooling)]
    if asked.rest is not None:
        phases.append(Phase([Leg(asked.rest.minutes, asked.rest.face)]))
    return phases


def _until(asked: HeatProblem) -> tuple[float | None, dict[str, Any] | None]:
    """Return the minutes to the core asked for, None if it is not reached, and the rest."""
    if asked.until_c is None and asked.rest is None:
        return None, None
    horizon = _settled_min(asked) if asked.until_c is not None else max(asked.at_min)
    if asked.turns_min and asked.until_c is not None:
        horizon = min(MOST_MINUTES, max(horizon, asked.turns_min[-1] + _settled_min(asked)))
    phases = _phases(asked, asked, horizon)
    trace = run(_pieces(asked), phases, step_s=_step_s(asked, horizon), terms=_TERMS)
    reached = asked.until_c is not None and bool(trace.reached[0, 0])
    minutes = float(trace.minutes[0, 0]) if reached else None
    return minutes, _rest(asked, trace, reached=reached)


def _rest(asked: HeatProblem, trace: Trace, *, reached: bool) -> dict[str, Any] | None:
    if asked.rest is None or (asked.until_c is not None and not reached):
        return None
    pull, peak = float(trace.core_end_c[0, 0]), float(trace.peak_c[0])
    return {
        "pull_c": round(pull, 2),
        "peak_c": round(peak, 2),
        "rise_c": round(peak - pull, 2),
        "peak_min": round(float(trace.peak_min[0]), 1),
        "core_end_c": round(float(trace.core_end_c[-1, 0]), 2),
    }


def _bands(asked: HeatProblem, minutes: float | None) -> dict[str, Any] | None:
    """Return the bands over sampled pieces, followed for four times as long as the one."""
    if asked.spread is None:
        return None
    horizon = min(MOST_MINUTES, 4.0 * minutes + 60.0) if minutes else _settled_min(asked)
    pieces, drawn = sampled(asked, _pieces(asked))
    step = max(_step_s(asked, horizon), horizon * 60.0 / 1500)
    trace = run(pieces, _phases(asked, drawn, horizon), step_s=step, keep_history=False)
    return bands_of(asked, trace)
