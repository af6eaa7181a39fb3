"""The whole fire: from the JSON of a problem to a plan that keeps its promises."""

from __future__ import annotations

from datetime import datetime

import jsonschema
import pytest

from collop.fire import fire
from collop.fire.fire_schema import SCHEMAS
from collop.reference import cook_minimum
from fire.fires import example, item, one_fire


@pytest.fixture(scope="module")
def supper():
    """Return the plan of the worked example."""
    return fire(example())


def by_id(plan):
    return {one["id"]: one for one in plan["items"]}


def test_the_example_and_its_plan_keep_the_schema(supper):
    """What goes in and what comes out are as `collop schema` says."""
    jsonschema.validate(example(), SCHEMAS["fire"])
    jsonschema.validate(supper, SCHEMAS["fire.plan"])


def test_the_same_fire_gives_the_same_plan(supper):
    """Sampling and solving are seeded: the same input has the same answer."""
    assert fire(example()) == supper


def test_every_load_fits_its_zone_at_every_moment(supper):
    """The load band is never over the full line."""
    for zone in supper["load"]:
        for span in zone["spans"]:
            assert zone["of_sq_in"] is None or span["area_sq_in"] <= zone["of_sq_in"]


def test_all_is_off_and_rested_before_it_is_eaten(supper):
    """Every item ends, with its rest, at or before its serving time."""
    for one in supper["items"]:
        for load in one["loads"]:
            assert load["off_min"] + one["rest_min"] <= load["ready_min"] <= load["eat_min"]


def test_no_core_is_planned_under_its_published_minimum(supper):
    """USDA FSIS, Safe minimum internal temperatures. Source id FSIS_MIN."""
    for one in supper["items"]:
        if one["meat_free"]:
            assert one["minimum"] is None
            continue
        rule = cook_minimum(one["cook_as"])
        assert one["minimum"]["core_f"] == rule.whole_fahrenheit
        assert one["pull_f"] >= rule.whole_fahrenheit
        assert one["rest_min"] >= rule.rest_min


def test_the_minutes_are_a_band_and_the_plan_covers_it(supper):
    """Never a bare minute: low, middle and high, and the plan takes at least the high one."""
    for one in supper["items"]:
        times = one["minutes"]
        assert times["p10"] < times["p50"] < times["p90"]
        assert times["planned"] >= times["p90"]


def test_the_chance_that_is_told_is_the_one_that_was_asked_for(supper):
    """All is ready in time in nine fires of ten."""
    assert [one["ready_chance"] >= supper["chance"] for one in supper["serve"]] == [True]


def test_steps_are_in_the_order_of_the_clock_and_name_their_tool(supper):
    """Raw food has raw tools, done food clean ones, and food without meat its own."""
    steps = supper["steps"]
    assert [one["at_min"] for one in steps] == sorted(one["at_min"] for one in steps)
    free = {one["id"] for one in supper["items"] if one["meat_free"]}
    for step in steps:
        if step["item"] in free:
            assert step["tool"] == "meat-free"
        elif step["item"] is not None:
            assert step["tool"] in {"raw", "cooked"}


def test_what_is_too_large_for_the_grill_is_refused_in_words():
    """A whole piece larger than the grill cannot be laid, and the plan says which."""
    plan = fire(one_fire(item("roast", pieces=1, piece_lb="2.00", area_sq_in=400)))
    jsonschema.validate(plan, SCHEMAS["fire.plan"])
    assert plan["answer"] == "no"
    assert [(one["limit"], one["item"]) for one in plan["why_no"]] == [("area", "roast")]
    assert plan["items"][0]["loads"] == []


def test_coals_that_are_out_too_soon_are_refused_and_the_yes_is_named():
    """A slow piece on a short fire: no, and how many minutes of coals would do."""
    problem = one_fire(item("shoulder", method="indirect", minutes=[150, 200]))
    plan = fire(problem)
    assert plan["answer"] == "no"
    assert plan["why_no"][0]["limit"] == "minutes"
    longer = next(one for one in plan["nearest_yes"] if one["change"] == "fire.minutes")
    problem["fire"]["zones"][0]["minutes"] = longer["to"]
    assert fire(problem)["answer"] == "yes"


def test_frozen_ducks_for_tomorrow_are_refused_by_the_refrigerator_alone():
    """A 5.2 lb bird takes 24 h for each 4 to 5 lb in the refrigerator, 30 min a lb in cold water.

    USDA-based turkey thawing table, source id THAW_TURKEY: there are 21 hours to the table, so
    only cold water at home fits, and the sheet counts its timetable back from the meal.
    """
    ducks = item(
        "ducks", species="duck", cook_as="poultry", method="oven", minutes=[90, 130], frozen=True,
        weight_lb="15.60", pieces=3, piece_lb="5.20",
    )  # fmt: skip
    problem = one_fire(
        ducks,
        now="2026-06-10T16:00",
        serve=[{"id": "lunch", "at": "2026-06-11T13:00"}],
        fire={"zones": [{"id": "oven", "heats": ["oven"]}]},
    )
    plan = fire(problem)
    assert plan["answer"] == "yes"
    water = [one for one in plan["before"] if one["item"] == "ducks" and "water" in one["what"]]
    assert water
    assert "counter" not in water[0]["what"].replace("never on the counter", "")
    start = datetime.fromisoformat(water[0]["at"])
    on = datetime.fromisoformat(by_id(plan)["ducks"]["loads"][0]["stages"][0]["start"])
    assert (on - start).total_seconds() / 3600 >= 2.6


def test_what_cannot_thaw_at_all_is_a_no_with_a_later_hour():
    """A 9 lb brisket in three hours: neither way fits, and the later meal that was tried does."""
    brisket = item("brisket", frozen=True, weight_lb="9.00", pieces=1, piece_lb="9.00",
                   method="oven", minutes=[60, 90])  # fmt: skip
    problem = one_fire(
        brisket,
        now="2026-06-13T16:00",
        fire={"zones": [{"id": "oven", "heats": ["oven"]}]},
    )
    plan = fire(problem)
    assert plan["answer"] == "no"
    assert [one["limit"] for one in plan["why_no"]] == ["thaw"]
    later = next(one for one in plan["nearest_yes"] if one["change"] == "serve")
    at = datetime.fromisoformat(problem["serve"][0]["at"]).timestamp() + 60 * later["to"]
    problem["serve"][0]["at"] = datetime.fromtimestamp(at).isoformat(timespec="minutes")  # noqa: DTZ006
    assert fire(problem)["answer"] == "yes"


def test_two_meals_each_have_their_own_hour():
    """Children first, the rest later: each item is ready at its own serving."""
    problem = one_fire(
        item("early", serve="children", minutes=[8, 10]),
        item("late", serve="others", minutes=[20, 30]),
        serve=[{"id": "children", "at": "2026-06-13T18:00"},
               {"id": "others", "at": "2026-06-13T19:30"}],
    )  # fmt: skip
    plan = fire(problem)
    loads = {name: one["loads"][0] for name, one in by_id(plan).items()}
    assert (loads["early"]["eat_min"], loads["late"]["eat_min"]) == (0, 90)
    assert loads["early"]["ready_min"] <= 0
    assert loads["late"]["ready_min"] <= 90


def test_what_is_left_when_it_is_cooked_follows_the_published_yields():
    """USDA Table of Cooking Yields (source id USDA_CY2): grilled pork; nothing told for goat."""
    plan = fire(example())
    steaks, goat = by_id(plan)["steaks"], by_id(plan)["skewers"]
    assert "Cooking Yields" in steaks["cooked"]["source"]
    left = float(steaks["cooked"]["weight_lb"]) / float(steaks["weight_lb"])
    assert left == pytest.approx(1 - steaks["cooked"]["loss_pct"] / 100, abs=0.006)
    assert 0.67 <= left <= 0.9
    assert goat["cooked"] is None
