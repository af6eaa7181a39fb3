"""Published times of thawing, salting, chilling, holding and keeping, as the fire sheet uses them.

Each test names its source and row of ``cooking/thaw_chill_hold.csv``; rows from memory are no
check here. Rows that the product does not use, such as pit air and wet brine by the cup, are only
recomputed where the row itself holds a sum.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from math import sqrt

import pytest

from collop.fire.around import after_steps, cautions
from collop.fire.around_after import leftover_advice
from collop.fire.clocks import out_minutes, wait_words
from collop.fire.clocks_salt import salt_plan
from collop.fire.clocks_thaw import CHANGE_MIN, thaw_plan
from collop.fire.problem import FireItem, FireProblem, Serving, Zone
from collop.measures import Temperature, Weight, WeightUnit
from collop.reference import cook_minimum, keeping_rows
from collop.reference.keepings import cooling_steps, hold_hot, keeping_row, storage_row, time_out

ROWS = {(row.topic, row.item): row for row in keeping_rows(cited_only=True)}
MEAL = datetime.fromisoformat("2026-06-13T19:00")


def thaw(pounds, form="bird-whole", pieces=1, **more):
    """Return the thaw of a piece before a Saturday evening."""
    return thaw_plan(Weight.of(pounds, WeightUnit.LB), pieces, form, None, MEAL, **more)


def fire(*items, **more) -> FireProblem:
    """Return a meal of these items."""
    zone = Zone("grill", "Kettle", frozenset({"direct", "indirect"}), Fraction(300))
    return FireProblem("Meal", (Serving("main", MEAL, 0),), (zone,), items, **more)


def chops(**more) -> FireItem:
    """Return pork chops."""
    return FireItem(
        "C17", "Pork chops", "pork", "main", 3000, Fraction(114), "whole", "direct",
        minutes=(12, 18), **more,
    )  # fmt: skip


@pytest.mark.parametrize(("light", "heavy"), [(4, 12), (12, 16), (16, 20), (20, 24)])
def test_the_clock_of_each_turkey_is_the_printed_one(light, heavy):
    """Turkey thawing times (THAW_TURKEY, seen): days in the refrigerator, hours in cold water."""
    days = ROWS["thaw", f"whole turkey {light}-{heavy} lb, refrigerator"]
    hours = ROWS["thaw", f"whole turkey {light}-{heavy} lb, cold water"]
    for pounds, in_fridge, in_water in (
        (light, days.low, hours.low),
        (heavy, days.high, hours.high),
    ):
        bird = thaw(pounds)
        assert MEAL - bird.refrigerator.start == timedelta(days=int(in_fridge))
        assert MEAL - bird.cold_water.start == timedelta(hours=int(in_water))
        assert bird.refrigerator.least_min == 24 * 60 * pounds / 5


def test_cold_water_is_changed_every_half_hour_and_ends_at_the_fire():
    """Turkey thawing times, cold water (THAW_TURKEY, seen): 30 min a pound, changed every 30."""
    row = ROWS["thaw", "cold water"]
    assert (row.high, row.unit) == (30, "min per lb")
    assert row.condition == f"change water every {CHANGE_MIN} min; cook at once"
    water = thaw(5).cold_water
    assert water.planned_min == 150
    assert len(water.changes) == 4
    assert water.done == MEAL


def test_roasts_start_within_the_printed_hours():
    """To thaw safely (THAW_CUTS, seen): roasts 4-7 and 3-5 h a pound; 1 in steak 12-14 h."""
    large, small = (
        ROWS["thaw", "large roast, refrigerator"],
        ROWS["thaw", "small roast, refrigerator"],
    )
    ten = thaw(10, "roast").refrigerator
    assert large.low * 600 <= ten.planned_min <= large.high * 600
    assert ten.longest_min == large.high * 600
    three = thaw(3, "roast").refrigerator
    assert three.planned_min >= small.high * 180
    steak = ROWS["thaw", "1 in steak, refrigerator"]
    inch = thaw("0.75", "steak", 6, thickness_mm=25.4).refrigerator
    assert (inch.least_min, inch.planned_min) == (steak.low * 60, steak.high * 60)


def test_a_package_of_mince_takes_its_printed_day():
    """To thaw safely, 1 in package of ground beef (THAW_CUTS, seen): 24 h."""
    row = ROWS["thaw", "1 in package ground beef, refrigerator"]
    assert thaw("0.75", "patty", None).refrigerator.planned_min == row.high * 60


def test_running_water_is_not_told_warmer_than_printed():
    """Jefferson County, Thawing foods (THAW_COUNTY, seen): 70 F, that is 21.1 C, said as 21 C."""
    row = ROWS["thaw", "running water maximum"]
    assert Temperature.fahrenheit(row.high).in_celsius() == Decimal("21.1")
    said = " ".join(cautions(fire(chops(frozen=True))))
    assert "running water is no warmer than 70 °F (21 °C)" in said


def test_from_frozen_is_half_as_long_again():
    """Turkey, footnote (FROZEN_TURKEY, seen): about 50 % longer, roasts and turkey."""
    row = ROWS["cook from frozen", "time multiplier"]
    assert thaw(12).from_frozen == row.low == row.high == 1 + Decimal(50) / 100
    assert thaw(1, "patty").from_frozen is None


def test_food_may_be_out_two_hours_one_in_heat():
    """USDA FSIS, Serving temperatures and two-hour rule (FSIS_SERVE, seen)."""
    assert out_minutes(90) == ROWS["time out", "room temperature"].high * 60 == 120
    assert out_minutes(91) == ROWS["time out", "above 90 F air"].high * 60 == 60
    assert time_out(91)[1].item == "above 90 F air"


def test_hot_food_is_held_at_the_consumers_figure_above_the_retail_one():
    """Seen: 140 F at home (FSIS_SERVE); Food Code holding (FOODCODE_HOLD) 135 F in shops."""
    home, shop = hold_hot()[0], hold_hot(retail=True)[0]
    assert (home, shop) == (140, 135)
    assert Temperature.fahrenheit(home).in_celsius() == 60
    assert f"{home} °F (60 °C)" in wait_words(31)


def test_cooling_is_told_in_the_two_published_steps():
    """Food Code 3-501.14 (FOODCODE_COOL, seen): 135 to 70 F in 2 h, to 41 F in 4 h, 6 in all."""
    first, second = cooling_steps()
    assert (first.high, second.high) == (2, 4)
    assert second.condition == f"total {first.high + second.high} h"
    (said, *_) = (line["what"] for line in after_steps(fire(chops())))
    assert "135 °F (57 °C) to 70 °F (21 °C) in 2 h, to 41 °F (5 °C) in 4 h more" in said


def test_leftovers_keep_and_are_reheated_as_printed():
    """Beef made easy (NCBA_EASY, seen): 3-4 days; Kansas State (KSTATE, seen): 165 F."""
    _, keeps, reheat = leftover_advice()
    row = ROWS["store", "leftover cooked beef, refrigerated"]
    assert f"{row.low} to {row.high} days" in keeps.what
    assert row.citation() in keeps.source
    hot = ROWS["reheat", "leftovers"]
    assert f"{hot.high} °F (74 °C)" in reheat.what
    assert hot.high == cook_minimum("poultry").whole_fahrenheit
    assert reheat.source == hot.citation()


def test_raw_meat_keeps_as_many_days_as_printed():
    """USDA FSIS, Basics, storage (FSIS_STORE, seen): birds and mince 2 days, cuts 3-5."""
    assert [storage_row(way).high for way in ("poultry", "ground", "whole")] == [2, 2, 5]
    late = cautions(fire(chops(), now=MEAL - timedelta(days=4)))
    assert any("3 to 5 days in the fridge at most, and eaten in 4" in line for line in late)


def test_nothing_is_cooked_partly():
    """USDA FSIS, Grilling and food safety (FSIS_GRILL, seen): grill and finish later: never."""
    (row,) = keeping_rows("partial cooking", cited_only=True)
    assert (row.item, row.unit) == ("grill and finish later", "never")
    two = FireItem(
        "C18", "Pork belly slices", "pork", "main", 3000, Fraction(120), "whole",
        "indirect then direct", minutes=(25, 35),
    )  # fmt: skip
    assert any("never cook meat partly" in line for line in cautions(fire(two)))


def test_the_salt_of_a_turkey_is_in_the_printed_range():
    """How much salt per pound for turkey (DRYBRINE_WEB, seen): 0.5-1 %; its spoons are not used."""
    row = ROWS["salt", "dry brine"]
    bird = Weight.of(12, WeightUnit.LB)
    salt = salt_plan(bird, "bird-whole", "turkey", MEAL)
    grams = bird.exact(WeightUnit.G)
    for shown, percent in ((salt.least_g, row.low), (salt.most_g, row.high)):
        assert abs(Fraction(shown) - grams * Fraction(percent) / 100) <= Fraction(1, 2)
    assert salt.least_g <= salt.grams <= salt.most_g


def test_the_printed_depth_of_salt_agrees_with_its_diffusivity():
    """A cook's report (SALT_PEN, seen): 1-1.5 cm in 24 h; 2 sqrt(D t) for 2-5e-10 m2/s overlaps."""
    row = ROWS["salt", "salt front penetration"]
    slow, fast = (2 * sqrt(diffusivity * 86_400) * 100 for diffusivity in (2e-10, 5e-10))
    assert slow <= row.high
    assert fast >= row.low


def test_the_printed_strength_of_brine_is_ten_ounces_in_a_gallon():
    """Brine ratios (BRINE_WEB, seen): 10 oz in a gallon is 7.0 % by weight of brine."""
    row = ROWS["salt", "1 cup table salt per gallon"]
    salt = Weight.of(row.high, WeightUnit.OZ).exact(WeightUnit.G)
    water = Fraction("3785.411784")  # a US gallon of water at 1 g a millilitre
    assert round(float(salt)) == 283
    assert round(float(salt / (salt + water) * 100), 1) == 7.0


def test_a_fridge_is_told_no_warmer_than_printed():
    """USDA FSIS, Basics, storage (FSIS_STORE, seen): 40 F or below is 4.4 C, said as 4 C."""
    row = keeping_row("store", "refrigerator")
    assert Temperature.fahrenheit(row.high).in_celsius() == Decimal("4.4")
