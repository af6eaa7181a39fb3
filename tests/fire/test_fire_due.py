"""The number a piece is due at, and how long it is off the heat."""

from __future__ import annotations

import pytest

from collop.fire import fire
from collop.fire.clocks import out_minutes, wait_words
from collop.fire.courses import course_of
from collop.fire.picture_rows import rows_of
from collop.fire.plan_times import degrees_up
from collop.fire.reading import read_problem
from fire.fires import item, one_fire

THIN = {"form": "thin", "thickness_mm": 8, "measured": True}


def planned(**more):
    """Return problem and plan of one thing."""
    problem = one_fire(item("skirt", minutes=None, **more))
    return read_problem(problem), fire(problem)


@pytest.mark.parametrize("unit", ["F", "C"])
def test_what_cools_in_its_rest_is_due_above_its_minimum(unit):
    """A thin cut off at 145 °F would rest under it: only the number of its pull is printed as due.

    The published rest at the minimum is USDA FSIS, Safe minimum internal temperatures, source id
    FSIS_MIN; that a thin cut cools in it is of the heat model.
    """
    problem, plan = planned(body=THIN)
    course = course_of(problem.items[0], problem)
    assert course.pull_c > course.target_c + 0.5
    one = plan["items"][0]
    assert (one["due_f"], one["due_c"]) == degrees_up(course.pull_c)
    assert one["due_f"] > one["minimum"]["core_f"] == 145
    off = next(step["what"] for step in plan["steps"] if ": off" in step["what"])
    assert f"{one['due_f']} °F" in off
    assert "145" not in off
    row = rows_of(plan, unit=unit)[0]
    both = (f"{one['due_f']} °F", f"{one['due_c']} °C")
    assert all(words in row.minimum for words in both)
    assert "off at" not in row.what


def test_what_is_wanted_hotter_is_due_at_its_minimum():
    """A roast wanted at 160 °F may come off at 145; both are told."""
    roast = {"form": "roast", "thickness_mm": 60, "measured": True}
    _, plan = planned(body=roast, method="indirect", done_f=160)
    one = plan["items"][0]
    assert (one["due_f"], one["due_c"], one["target_f"]) == (145, 63, 160)
    off = next(step["what"] for step in plan["steps"] if ": off" in step["what"])
    assert f"{one['pull_f']} °F" in off
    assert "never under 145 °F" in off


def test_a_thin_cut_wanted_hotter_is_not_told_the_minimum_as_due():
    """It would cool under the minimum in its rest, were it taken off there."""
    _, plan = planned(body=THIN, done_f=158)
    one = plan["items"][0]
    plain = planned(body=THIN)[1]["items"][0]
    assert one["pull_f"] >= one["due_f"] == plain["due_f"] > 145
    off = next(step["what"] for step in plan["steps"] if ": off" in step["what"])
    assert f"never under {one['due_f']} °F" in off
    assert "145" not in off


def test_mince_is_due_at_its_minimum_and_food_without_meat_at_none():
    """Nothing is left to the rest of a patty; a pepper has no number."""
    _, plan = planned(body={"form": "patty", "thickness_mm": 20})
    assert (plan["items"][0]["due_f"], plan["items"][0]["due_c"]) == (160, 72)
    plan = fire(one_fire(item("peppers", species=None, cook_as="none")))
    assert plan["items"][0]["due_f"] is plan["items"][0]["due_c"] is None


@pytest.mark.parametrize(
    ("wait", "rest", "air", "kept"),
    [(30, 30, 75, False), (30, 30, 95, False), (30, 31, 95, True), (20, 45, 95, True),
     (20, 60, 75, False), (31, 0, 75, True)],
)  # fmt: skip
def test_rest_and_wait_off_the_heat_stay_within_the_published_hours(wait, rest, air, kept):
    """Longer than two hours, one above 90 °F, and it is kept hot.

    USDA FSIS, Serving temperatures and two-hour rule, source id FSIS_SERVE.
    """
    words = wait_words(wait, rest_min=rest, air_f=air)
    assert ("140 °F (60 °C) or above" in words) == kept
    assert kept or rest + wait <= out_minutes(air)


def test_a_long_rest_on_a_hot_day_waits_hot():
    """Two roasts for one pair of hands at 100 °F: no load is over an hour on a board."""
    roast = {"form": "roast", "thickness_mm": 60, "measured": True}
    items = [
        item(name, minutes=None, body=roast, method="indirect", rest_min=60, hold_min=30,
             area_sq_in=200)
        for name in ("first", "second")
    ]  # fmt: skip
    problem = one_fire(*items)
    grill = {"id": "grill", "heats": ["direct", "indirect"], "area_sq_in": 500, "minutes": 300}
    plan = fire(problem | {"fire": {"zones": [grill], "air_f": 100, "hands": 1}})
    waiting = [load for one in plan["items"] for load in one["loads"] if load["wait_min"]]
    assert waiting
    assert all("140 °F (60 °C) or above" in load["waits"] for load in waiting)
