"""The words of the steps: one number that is due, turns before probing, tools, how it is made."""

from __future__ import annotations

import pytest

from collop.fire import fire
from fire.fires import item, one_fire


def steps_of(plan, name):
    return [one for one in plan["steps"] if one["item"] == name]


def test_the_number_that_is_due_is_the_wanted_one_with_the_least_beside_it():
    """A shoulder wanted soft comes off at 190 °F, never under the published 145 °F."""
    shoulder = item("shoulder", method="indirect", minutes=[80, 100], done_f=190)
    last = steps_of(fire(one_fire(shoulder)), "shoulder")[-1]["what"]
    assert "off at 190 °F (88 °C) in the middle, never under 145 °F (63 °C)" in last


def test_where_nothing_else_is_wanted_the_minimum_is_the_number():
    """USDA FSIS minimum (source id FSIS_MIN): birds come off at 165 °F, in °C first if asked."""
    bird = item("bird", cook_as="poultry", minutes=[40, 60], method="indirect")
    assert (
        "off at 165 °F (74 °C) in the middle" in steps_of(fire(one_fire(bird)), "bird")[-1]["what"]
    )
    plan = fire(one_fire(bird, unit="C"))
    assert "off at 74 °C (165 °F) in the middle" in steps_of(plan, "bird")[-1]["what"]


@pytest.mark.parametrize("form", ["steak", "thin", "patty"])
def test_a_piece_is_turned_before_it_is_probed_and_with_the_tool_it_went_on_with(form):
    """Half of its middle minutes, so before the first sample is done; then a clean thermometer."""
    kind = "ground" if form == "patty" else "whole"
    thick = {"steak": 25, "thin": 8, "patty": 20}[form]
    piece = item("piece", cook_as=kind, minutes=None, body={"form": form, "thickness_mm": thick})
    steps = steps_of(fire(one_fire(piece)), "piece")
    words = [one["what"].split(": ")[1].split(";")[0].split(" at ")[0] for one in steps]
    turn = words.index("turn")
    assert all(word != "turn" for word in words[turn + 1 :])
    probe = next((n for n, word in enumerate(words) if word == "begin to probe"), len(words) - 1)
    assert turn < probe
    assert [one["tool"] for one in steps[: turn + 1]] == ["raw", "raw"]
    assert steps[-1]["tool"] == "cooked"


def test_what_moves_to_the_coals_is_touched_with_a_clean_tool():
    """After its first stage the outside is cooked: raw tools never touch it again."""
    links = item("links", cook_as="ground", method="indirect then direct", minutes=[18, 25])
    steps = steps_of(fire(one_fire(links)), "links")
    assert [one["tool"] for one in steps][:2] == ["raw", "cooked"]


@pytest.mark.parametrize(
    ("name", "form", "thick", "words"),
    [
        ("Chicken, whole", "bird-flat", 44, "opened flat"),
        ("Chicken, opened", "bird-flat", 44, ""),
        ("Beef mince", "patty", 20, "as patties 0.8 in (20 mm) thick"),
        ("Goat shoulder, diced", "skewer", 28, "on skewers, 1.1 in (28 mm) cubes"),
        ("Beef skirt", "thin", 8, "sliced thin, 0.3 in (8 mm)"),
        ("Beef rump", "steak", 25, ""),
    ],
)
def test_how_a_piece_is_made_up_is_said_unless_its_name_says_it(name, form, thick, words):
    """The minutes are those of a flat bird, a patty, a cube: the sheet says so."""
    cook_as = {"bird-flat": "poultry", "patty": "ground"}.get(form, "whole")
    method = "indirect" if form == "bird-flat" else "direct"
    piece = item("piece", cook_as=cook_as, minutes=None, method=method, name=name,
                 body={"form": form, "thickness_mm": thick})  # fmt: skip
    plan = fire(one_fire(piece))
    assert plan["items"][0]["made"] == words
    assert words in steps_of(plan, "piece")[0]["what"]


def test_a_meal_without_food_is_not_called_to_the_table():
    """Nothing is served at the second hour: no step, and no chance is told."""
    serve = [{"id": "main", "at": "2026-06-13T19:00"}, {"id": "late", "at": "2026-06-13T20:00"}]
    plan = fire(one_fire(serve=serve))
    assert [one["ready_chance"] is None for one in plan["serve"]] == [False, True]
    assert not [one for one in plan["steps"] if one["at_min"] == 60]


def test_the_caution_of_food_without_meat_fits_the_plan():
    """First on the clean grill, or on its own tray: the sentence is that of the plan."""
    mushrooms = item("mushrooms", cook_as="none", species=None, minutes=[8, 10])
    slow = item("bird", cook_as="poultry", method="indirect", minutes=[60, 80])
    for others, words in (((), "without meat"), ((slow,), "on a tray or foil of its own")):
        plan = fire(one_fire(mushrooms, *others))
        said = [line for line in plan["cautions"] if words in line]
        assert len(said) == len(others)


def test_the_ride_is_told_even_where_the_answer_is_no():
    """Ninety minutes in hot air: a cool box, whatever the fire can do."""
    problem = one_fire(item("roast", pieces=1, piece_lb="2.00", area_sq_in=900), ride_min=90)
    problem["fire"]["air_f"] = 100
    plan = fire(problem)
    assert plan["answer"] == "no"
    assert any("cool box" in one["what"] for one in plan["before"])
