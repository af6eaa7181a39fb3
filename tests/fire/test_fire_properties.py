"""Density, heat and conductivity from composition, and the defaults for cooking."""

from __future__ import annotations

import doctest
import importlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue
from collop.fire.properties import (
    SLOWEST_DIFFUSIVITY,
    Composition,
    conducting,
    conductivity,
    conductivity_parallel,
    conductivity_series,
    cooling_heat,
    density,
    diffusivity,
    freezing_heats,
    ice_fraction,
    specific_heat,
)

SIRLOIN = Composition(water=0.717, protein=0.2124, fat=0.044, ash=0.0108)


@given(
    st.floats(0.3, 0.8), st.floats(0.0, 1.0), st.floats(0.0, 0.015), st.floats(-30.0, 100.0)
)  # fmt: skip
def test_the_series_model_never_conducts_more_than_the_parallel_one(water, lean, ash, temp_c):
    """The two are bounds of every mixture, and the middle lies between."""
    rest = 1 - water - ash
    meat = Composition(water, rest * lean, rest * (1 - lean), ash)
    low, high = conductivity_series(meat, temp_c), conductivity_parallel(meat, temp_c)
    assert low <= high * (1 + 1e-12)
    assert low * (1 - 1e-12) <= conductivity(meat, temp_c) <= high * (1 + 1e-12)
    assert 850 < density(meat, temp_c) < 1300
    assert 1500 < specific_heat(meat, temp_c) < 6500


def test_water_alone_is_water():
    """One component gives its own equation, and both conductivities are one."""
    water = Composition(water=1.0)
    assert density(water, 20) == pytest.approx(998, abs=5)  # from memory
    assert specific_heat(water, 20) == pytest.approx(4182, rel=0.005)  # from memory
    assert conductivity_series(water, 20) == pytest.approx(conductivity_parallel(water, 20))
    k = conductivity(water, 20)
    assert diffusivity(water, 20) == pytest.approx(
        k / density(water, 20) / specific_heat(water, 20)
    )


def test_an_analysis_that_does_not_quite_sum_is_scaled():
    """Published shares of 98.4 % give the same meat as shares of 100 %."""
    total = 0.717 + 0.2124 + 0.044 + 0.0108
    scaled = Composition(0.717 / total, 0.2124 / total, 0.044 / total, 0.0108 / total)
    assert density(SIRLOIN, 20) == pytest.approx(density(scaled, 20))
    assert specific_heat(SIRLOIN, 20) == pytest.approx(specific_heat(scaled, 20))


@pytest.mark.parametrize(
    "shares",
    [
        {"water": 0.5},
        {"water": 0.8, "fat": 0.3},
        {"water": 1.1, "fat": -0.1},
        {"water": float("nan")},
        {"water": float("inf")},
        {"water": 0.0},
    ],
)
def test_shares_that_are_no_meat_are_refused(shares):
    """Shares below zero, that do not sum to 1, or are no number, are one sentence."""
    with pytest.raises(BadValue, match="sum to 1"):
        Composition(**shares)


@pytest.mark.parametrize("temp_c", [-41.0, 151.0, float("nan")])
def test_outside_the_equations_nothing_is_told(temp_c):
    """The polynomials hold from -40 to 150 C."""
    with pytest.raises(BadValue, match="outside -40 to 150 C"):
        density(SIRLOIN, temp_c)


def test_defaults_lie_between_the_bounds_of_the_model():
    """Lean beef at 20 C conducts between the series and the parallel figure; fat conducts less."""
    beef = conducting("beef")
    assert conductivity_series(SIRLOIN, 20) < beef.k < conductivity_parallel(SIRLOIN, 20)
    assert beef.rho_c == pytest.approx(density(SIRLOIN, 20) * specific_heat(SIRLOIN, 20), rel=0.04)
    assert conducting("beef", fat_rich=True).k < conducting("chicken").k < conducting("pork").k
    assert conducting("duck") == conducting("chicken")
    assert conducting("lamb") == conducting(None) == beef
    for species in ("beef", "pork", "chicken", None):
        for fat_rich in (False, True):
            found = conducting(species, fat_rich=fat_rich).diffusivity
            assert SLOWEST_DIFFUSIVITY < found < 1.35e-7


def test_ice_forms_below_the_freezing_point_alone():
    """No ice at the freezing point, more the colder, and never more than the free water."""
    assert ice_fraction(0.58, 0.175, freezing_c=-1.7, temp_c=-1.7) == 0
    found = [ice_fraction(0.58, 0.175, freezing_c=-1.7, temp_c=t) for t in (-2, -5, -20, -40)]
    assert found == sorted(found)
    assert found[-1] < 0.58 - 0.4 * 0.175
    with pytest.raises(BadValue, match="below 0 C"):
        ice_fraction(0.58, 0.175, freezing_c=0.5, temp_c=-5)


def test_heat_is_in_proportion_to_mass():
    """Twice the piece, twice the heat; a piece is frozen downwards."""
    one = freezing_heats(1, temps_c=(1, -2.8, -18), heats_kj=(2.98, 214, 1.65))
    two = freezing_heats(2, temps_c=(1, -2.8, -18), heats_kj=(2.98, 214, 1.65))
    assert two == pytest.approx([2 * heat for heat in one])
    assert one[0] == cooling_heat(1, 2.98, 3.8)
    with pytest.raises(BadValue, match="from warm to cold"):
        freezing_heats(1, temps_c=(1, -18, -2.8), heats_kj=(2.98, 214, 1.65))


def test_the_examples_in_the_module_are_true():
    """Each docstring example gives what it says."""
    result = doctest.testmod(importlib.import_module("collop.fire.properties"))
    assert (result.attempted > 0, result.failed) == (True, 0)
