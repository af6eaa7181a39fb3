"""Nothing goes on before it is home and its fire is hot."""

from __future__ import annotations

from datetime import timedelta
from fractions import Fraction

import pytest

from collop.fire.checker import check_laying
from collop.fire.lighting import COALS_MIN, GAS_MIN, OVEN_MIN, first_minute, home_minute
from collop.fire.problem import Zone
from collop.fire.schedule import Refusal, lay
from fire.firemenus import SUPPER, course, fire, item, kettle


def test_home_is_now_and_the_ride():
    """An hour and a half before supper with a ride of twenty minutes: 70 min are left."""
    problem = fire([item("a")], [kettle()], now=SUPPER - timedelta(minutes=90), ride_min=20)
    assert home_minute(problem) == -70
    assert home_minute(fire([item("a")], [kettle()])) is None


@pytest.mark.parametrize(
    ("name", "heats", "minutes", "first"),
    [
        ("Kettle", ("direct",), (10,), -70 + COALS_MIN),
        ("Gas grill", ("direct",), (10,), -70 + GAS_MIN),
        ("Kettle", ("oven",), (40,), -70 + OVEN_MIN),
        ("Kettle", ("oven", "direct"), (5, 5), -70 + COALS_MIN - 5),
        ("Kettle", ("pot",), (40,), -70),
    ],
)
def test_each_heat_is_lit_in_time(name, heats, minutes, first):
    """Coals take 30 min, gas 15, an oven 20 (common practice, no published source)."""
    zones = [
        Zone("grill", name, frozenset({"direct"}), Fraction(300)),
        Zone("oven", "Oven", frozenset({"oven"}), None),
        Zone("pot", "Pot", frozenset({"pot"}), None),
    ]
    problem = fire([item("a")], zones, now=SUPPER - timedelta(minutes=90), ride_min=20)
    assert first_minute(problem, heats, minutes) == first


def test_a_plan_waits_for_the_coals_and_the_checker_holds_it_to_that():
    """With 45 min to supper a steak goes; the same plan asked ten minutes later is a fault."""
    courses = {"a": course("whole", "direct", [(8, 10)], hold=10)}
    soon = fire([item("a")], [kettle()], now=SUPPER - timedelta(minutes=46))
    laying = lay(soon, courses)
    assert laying.loads[0].start >= -46 + COALS_MIN
    assert check_laying(soon, courses, laying) == []
    later = fire([item("a")], [kettle()], now=SUPPER - timedelta(minutes=36))
    assert any("hot" in fault for fault in check_laying(later, courses, laying))
    assert isinstance(lay(later, courses), Refusal)


def test_the_quicker_of_two_fires_is_taken_and_the_slower_never_too_early():
    """Gas is hot in 15 min, coals in 30: with 35 min to supper gas goes, coals alone do not."""
    courses = {"a": course("whole", "direct", [(8, 10)], hold=30)}
    gas = Zone("gas", "Gas grill", frozenset({"direct"}), Fraction(300))
    both = fire([item("a")], [kettle(), gas], now=SUPPER - timedelta(minutes=35))
    laying = lay(both, courses)
    assert [load.stages[0].zone for load in laying.loads] == ["gas"]
    assert check_laying(both, courses, laying) == []
    assert isinstance(lay(fire([item("a")], [kettle()], now=both.now), courses), Refusal)
    # two that need a grill of their own: one has to wait for the coals, or there is no plan
    pair = [item(name, area=250, pieces=1) for name in "ab"]
    two = fire(pair, [kettle(), gas], now=SUPPER - timedelta(minutes=50), hands=2)
    laid = lay(two, courses | {"b": courses["a"]})
    assert {load.stages[0].zone for load in laid.loads} == {"gas", "grill"}
    assert check_laying(two, courses | {"b": courses["a"]}, laid) == []
