"""Clock times, temperatures and spans of a fire plan."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from math import ceil
from typing import Any

import numpy as np

from collop.fire.around_items import clock_text, moment_of
from collop.fire.laying import LaidLoad, LaidStage
from collop.fire.problem import FireProblem, StageTime, Zone

__all__ = [
    "clock",
    "degrees_up",
    "fahrenheit",
    "iso",
    "load_spans",
    "pounds",
    "turn_minutes",
    "whole",
]


def iso(problem: FireProblem, minute: int) -> str:
    """Return the local time of a minute as ISO text, e.g. ``2026-06-13T17:20``."""
    return f"{moment_of(problem, minute):%Y-%m-%dT%H:%M}"


def clock(problem: FireProblem, minute: int) -> str:
    """Return the hour of a minute for people, with the day if it is another than the meal's."""
    return clock_text(problem, moment_of(problem, minute))


def whole(value: float) -> int:
    """Round a figure of physics half up to a whole number."""
    return int(Decimal(repr(value)).quantize(Decimal(1), ROUND_HALF_UP))


def fahrenheit(celsius_degrees: float) -> float:
    """Return degrees Fahrenheit."""
    return celsius_degrees * 1.8 + 32


def degrees_up(celsius_degrees: float) -> tuple[int, int]:
    """Return a core in whole °F and °C, rounded up: what is printed is never under what is meant.

    Examples
    --------
    >>> degrees_up(62.778)
    (145, 63)
    """
    # a hair less, so that 62.8 °C read as 145.04 °F stays 145
    return ceil(fahrenheit(celsius_degrees) - 0.1), ceil(celsius_degrees - 0.05)


def turn_minutes(stage: LaidStage, times: StageTime) -> list[int]:
    """Return when a piece is turned [min]: by its middle minutes, not by the longest planned."""
    middle = min(float(np.median(times.minutes)), float(stage.minutes))
    return [stage.start + whole(turn * middle) for turn in times.turns]


def pounds(mlb: int) -> str:
    """Return thousandths of a pound as text with two decimals, half up."""
    return f"{(Decimal(mlb) / 1000).quantize(Decimal('0.01'), ROUND_HALF_UP)}"


def load_spans(problem: FireProblem, loads: Sequence[LaidLoad]) -> list[dict[str, Any]]:
    """Return how full each zone is, from each change to the next.

    Returns
    -------
    list of dict
        One for each zone that is used, as in ``load`` of the plan; spans without food are left out.
    """
    return [
        {
            "zone": zone.id,
            "name": zone.name,
            "of_sq_in": None if zone.area_sq_in is None else float(zone.area_sq_in),
            "spans": spans,
        }
        for zone in problem.zones
        if (spans := _spans(problem, zone, loads))
    ]


def _spans(
    problem: FireProblem, zone: Zone, loads: Sequence[LaidLoad]
) -> list[dict[str, Any]]:  # fmt: skip
    there = [
        (stage.start, stage.end, load)
        for load in loads
        for stage in load.stages
        if stage.zone == zone.id
    ]
    edges = sorted({edge for start, end, _ in there for edge in (start, end)})
    spans = []
    for start, end in itertools.pairwise(edges):
        here = [load for first, last, load in there if first <= start and end <= last]
        if here:
            area = sum((load.area_sq_in for load in here), Fraction(0))
            spans.append(
                {
                    "start": iso(problem, start),
                    "end": iso(problem, end),
                    "start_min": start,
                    "end_min": end,
                    "area_sq_in": round(float(area), 1),
                    "items": sorted({load.item for load in here}),
                }
            )
    return spans
