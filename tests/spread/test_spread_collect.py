"""By when to collect: the same fire goes if the food is collected then, and not an hour later."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from collop.fire.laying import Laying
from collop.fire.lighting import COALS_MIN, RIDE_MIN
from collop.fire.schedule import lay
from collop.spread import answer, make_plan, read_problem
from collop.spread.firing import fire_of
from collop.spread.picks import Pick

EXAMPLE = Path(__file__).parents[2] / "docs/examples/spread.json"


def example():
    return json.loads(EXAMPLE.read_text(encoding="utf-8"))


def picks_of(spread):
    """Return the lines of a spread as what was taken of each option."""
    found = []
    for line in spread.lines:
        parts = line.option.parts
        pieces = line.pieces_mlb
        if pieces is None:
            counts = (line.mlb // parts[0].mlb,)
        else:
            counts = tuple(pieces.count(part.mlb) for part in parts)
        found.append(Pick(line.option, counts))
    return found


def laid_when_collected(problem, spread, at):
    """Return what the fire says if everything is collected at an hour, with the usual ride."""
    made, courses = fire_of(problem, picks_of(spread), rounds=False)
    return lay(replace(made, now=at, ride_min=RIDE_MIN), courses, why=False)


@pytest.mark.parametrize("index", range(5))
def test_collected_by_then_it_is_ready_and_an_hour_later_it_is_not(index):
    """The fire kernel, told the hour of collection, says yes then, and no an hour later."""
    problem = read_problem(example())
    spread = make_plan(problem).spreads[index]
    assert isinstance(laid_when_collected(problem, spread, spread.collect_by), Laying)
    late = spread.collect_by + timedelta(hours=1)
    assert not isinstance(laid_when_collected(problem, spread, late), Laying)


def test_the_hour_leaves_the_ride_and_the_lighting():
    """No load of coals begins within ride and lighting of the hour to collect."""
    plan = answer(example())
    meal = datetime.fromisoformat(example()["use_at"])
    for spread in plan["spreads"]:
        by = datetime.fromisoformat(spread["collect_by"])
        lasts = max(load["at_min"] + load["minutes"] for load in spread["loads"])
        first = min(load["at_min"] for load in spread["loads"])
        # the last load comes off at or before the meal
        assert by <= meal - timedelta(minutes=lasts - first + COALS_MIN + RIDE_MIN)


def test_without_a_fire_or_a_meal_nothing_is_said_of_it():
    """Where the fire or the hour is not known, no hour to collect is made up."""
    for key in ("fire", "use_at"):
        ask = example()
        del ask[key]
        assert {one["collect_by"] for one in answer(ask)["spreads"]} == {None}
