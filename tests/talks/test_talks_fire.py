"""Conversations 2, 7 and 8 at the fire: G9 to G11 on every spread, and the sheet they end in."""

from __future__ import annotations

from fractions import Fraction

import pytest
from invariants import check_answer

from collop.fire import fire
from collop.measures import Weight, WeightUnit
from collop.spread import answer
from properties.fires import fire_problem

#: 14 in across is 153.9 sq in, of which four fifths are used.
KETTLE = {"zones": [{"name": "kettle", "area_sq_in": 153.9}], "usable_fraction": 0.8,
          "minutes": 60}  # fmt: skip


def sheets(problem, plan):
    """Yield (spread, fire plan) of each spread, planned by the fire kernel from ask and plan."""
    for spread in plan["spreads"]:
        yield spread, fire(fire_problem(problem, spread))


@pytest.fixture
def kettle_supper(ask):
    """Return the ask of the balcony kettle."""
    offers = [cut | {"cook": None} for cut in ask()["offers"]]
    return ask({"name": "all", "count": 12}, budget_total="140.00", fire=KETTLE,
               use_at="2026-06-09T19:00", offers=offers)  # fmt: skip


def test_2_every_load_fits_the_kettle_within_the_hour_or_rounds_are_said(kettle_supper, bounds):
    """At most 123.2 sq in at once, off within 60 minutes, no whole bird, all at seven or said."""
    plan = answer(kettle_supper)
    check_answer(kettle_supper, plan)
    assert plan["answer"] == "yes"
    for spread in plan["spreads"]:
        assert not {line["id"] for line in spread["lines"]} & set(bounds[2]["no_ids"])
        for minute in range(61):
            on = [one["area_sq_in"] for one in spread["loads"]
                  if one["at_min"] <= minute < one["at_min"] + one["minutes"]]  # fmt: skip
            assert sum(on) <= bounds[2]["max_load_sq_in"]
        first = min(load["at_min"] for load in spread["loads"])
        last = max(load["at_min"] + load["minutes"] for load in spread["loads"])
        assert last - first <= 60
        late = len({load["eat_min"] for load in spread["loads"]}) > 1
        assert late == ("rounds" in spread["binds"]) == ("in rounds over" in spread["say"])


def test_2_the_sheet_of_each_spread_is_no_no(kettle_supper):
    """The fire kernel, asked with the lines alone, says the same of rounds."""
    for spread, sheet in sheets(kettle_supper, answer(kettle_supper)):
        assert sheet["answer"] == ("rounds" if "rounds" in spread["binds"] else "yes")
        for item in sheet["items"]:
            assert item["pull_f"] >= item["minimum"]["core_f"]


def test_7_a_shoulder_of_2_2_kg_needs_the_oven_and_browns_over_the_coals(ask, bounds):
    """Four hours are no kettle's hour: with an oven it is a yes, and finished over direct heat."""
    pounds = Weight.of(str(bounds[7]["lb"]), WeightUnit.LB)
    assert float(pounds.decimal(WeightUnit.KG, 2)) == 2.2
    line = {"id": "C02", "weight_lb": "4.85", "style": "plate"}
    offers = [cut | {"cook": None} for cut in ask()["offers"] if cut["id"] == "C02"]
    wish = ask({"name": "all", "count": 7}, offers=offers, pinned=[line], appetite_cv=0.0,
               rules={"min_items": 1, "help_animal": False}, fire=KETTLE)  # fmt: skip
    no = answer(wish)
    assert no["answer"] == "no"
    assert ("fire", "oven") in {(yes["change"], yes["to"]) for yes in no["nearest_yes"]}
    large = {**KETTLE, "zones": [{"name": "kettle", "area_sq_in": 380}], "oven": True}
    problem = wish | {"fire": large, "want": 1}
    plan = answer(problem)
    check_answer(problem, plan)
    (spread,) = plan["spreads"]
    (load,) = spread["loads"]
    assert load["heat"] == "direct"
    assert 12 <= load["minutes"] <= 15
    assert Fraction(str(load["area_sq_in"])) == Fraction("135.8")
    ((_, sheet),) = sheets(problem, plan)
    assert sheet["answer"] == "yes"


def test_8_birds_that_thaw_by_saturday_are_cooked_there_and_tomorrow_never(ask, bounds):
    """Wednesday at four: no duck on any fire tomorrow; on Saturday three go round a large grill."""
    fire_large = {"zones": [{"name": "half drum", "area_sq_in": 900}], "minutes": 180}
    offers = [cut | {"cook": None} for cut in ask()["offers"]]
    more = {"now": "2026-06-10T16:00", "fire": fire_large, "appetite_cv": 0.0, "offers": offers}
    tomorrow = ask({"name": "all", "count": 16}, use_at="2026-06-11T13:00", **more)
    plan = answer(tomorrow)
    check_answer(tomorrow, plan)
    assert not bounds[8]["feasible_fridge"]
    assert "C29" not in {line["id"] for s in plan["spreads"] for line in s["lines"]}
    saturday = ask({"name": "all", "count": 16}, use_at="2026-06-13T13:00", want=1,
                   rules={"only": ["C29"]}, pinned=[{"id": "C29", "weight_lb": "15.60"}],
                   **more)  # fmt: skip
    plan = answer(saturday)
    check_answer(saturday, plan)
    (spread,) = plan["spreads"]
    assert spread["lines"][0]["cook_to"]["f"] == 165
    ((_, sheet),) = sheets(saturday, plan)
    assert sheet["answer"] == "yes"
