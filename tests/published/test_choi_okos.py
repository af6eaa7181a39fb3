"""Choi and Okos, Effects of temperature and composition on thermal properties, 1986 (CHOI_OKOS).

The worked examples of the mixing rules were computed for the reference table from these equations
(status computed; their compositions are recalled from ASHRAE and only serve as inputs). Measured
values are from other publications, named in each test.
"""

from __future__ import annotations

import re

import pytest

from collop.fire.properties import (
    Composition,
    conductivity_parallel,
    conductivity_series,
    cooling_heat,
    density,
    diffusivity,
    freezing_heats,
    ice_fraction,
    specific_heat,
)
from collop.reference import thermal_rows

MEATS = {
    "beef sirloin lean": "beef sirloin, lean",
    "beef brisket": "beef brisket, whole, lean and fat",
    "chicken whole": "chicken, whole, meat and skin",
}
NOTE = re.compile(
    r"k_series (\S+); rho (\S+) kg/m3; c (\S+) kJ/\(kg K\); alpha\(parallel\) (\S+), "
    r"alpha\(mean of series and parallel\) (\S+) m2/s$"
)
EXAMPLES = thermal_rows("example", quantity="k_parallel", cited_only=True)
MEASURED = [
    row
    for row in thermal_rows("measured", quantity="specific_heat", cited_only=True)
    if row.source.source_id == "JAMES_MEATREF" and row.water_pct
]


def composition(item):
    """Return a composition of the table, used as an input alone."""
    (row,) = thermal_rows("composition", item=item)
    parts = (row.water_pct, row.protein_pct, row.fat_pct, row.ash_pct)
    return Composition(*(float(part) / 100 for part in parts))


def middle(text):
    """Return the middle of a figure or range."""
    ends = [float(end) for end in text.split("-")]
    return sum(ends) / len(ends)


@pytest.mark.parametrize("row", EXAMPLES, ids=lambda row: row.item)
def test_each_worked_mixture_comes_out(row):
    """CHOI_OKOS, computed: k, rho, c and diffusivity of three meats at 5, 20 and 60 C."""
    meat, temp_c = composition(MEATS[row.item.split(" at ")[0]]), float(row.temp_c)
    series, rho, heat, alpha_parallel, alpha_mean = map(float, NOTE.match(row.note).groups())
    parallel = conductivity_parallel(meat, temp_c)
    assert parallel == pytest.approx(float(row.value), abs=0.0006)
    assert conductivity_series(meat, temp_c) == pytest.approx(series, abs=0.0006)
    assert density(meat, temp_c) == pytest.approx(rho, abs=0.6)
    assert specific_heat(meat, temp_c) == pytest.approx(1000 * heat, abs=0.6)
    assert diffusivity(meat, temp_c, parallel) == pytest.approx(alpha_parallel, rel=5e-4)
    assert diffusivity(meat, temp_c) == pytest.approx(alpha_mean, rel=5e-4)


def test_lamb_is_cooled():
    """CHOI_OKOS, computed: lamb at 5 C 3.591 kJ/(kg K); 5386 kJ for 150 kg over 10 K."""
    (heat,) = thermal_rows("example", quantity="specific_heat", cited_only=True)
    (total,) = thermal_rows("example", quantity="heat_removed", cited_only=True)
    found = specific_heat(composition("lamb, composite of cuts, lean"), 5) / 1000
    assert found == pytest.approx(float(heat.value), abs=0.001)
    assert cooling_heat(150, found, 10) == pytest.approx(float(total.value), rel=3e-4)


def test_a_frozen_carcass_holds_ice():
    """ASHRAE_R, computed: 0.467 of a carcass at -20 C is ice, water 0.58, protein 0.175."""
    (row,) = thermal_rows("example", quantity="ice_fraction", cited_only=True)
    found = ice_fraction(0.58, 0.175, freezing_c=-1.7, temp_c=-20)
    assert found == pytest.approx(float(row.value), abs=0.0005)
    assert 68 * found == pytest.approx(31.7, abs=0.05)


def test_a_turkey_is_frozen():
    """CENGEL, Heat and Mass Transfer (seen): 79.3, 1498 and 175.6 kJ of a 7 kg turkey."""
    rows = thermal_rows("example", quantity="heat", cited_only=True)
    assert [row.source.source_id for row in rows] == ["CENGEL"] * 3
    found = freezing_heats(7, temps_c=(1, -2.8, -18), heats_kj=(2.98, 214, 1.65))
    assert found == pytest.approx([float(row.value) for row in rows], rel=5e-4)


@pytest.mark.parametrize("component", ["carbohydrate", "fibre", "water"])
@pytest.mark.parametrize("temp_c", [0, 20, 60, 100])
def test_the_diffusivity_equations_agree_with_the_other_three(component, temp_c):
    """CHOI_OKOS (seen): separate diffusivity polynomials, within 6 % of k / (rho c)."""
    (row,) = thermal_rows("component_poly", quantity="thermal_diffusivity", item=component)
    assert row.is_cited
    printed = float(row.a0) + float(row.a1) * temp_c + float(row.a2) * temp_c**2
    alone = Composition(**{"water": 0.0, component: 1.0})
    assert diffusivity(alone, temp_c) == pytest.approx(printed, rel=0.06)


@pytest.mark.parametrize("row", MEASURED, ids=lambda row: f"{row.item} {row.water_pct} %")
def test_measured_heats_are_near_the_model(row):
    """Meat Refrigeration (James and James), Table 13.2 (seen): within 12 % of measured heats."""
    water = middle(row.water_pct) / 100
    protein = min(0.22, 1 - water)  # the split of what is not water hardly moves the heat
    meat = Composition(water, protein, 1 - water - protein)
    found = specific_heat(meat, middle(row.temp_c or "5")) / 1000
    assert float(row.value) * 0.88 <= found <= float(row.value_high or row.value) * 1.12


def test_measured_heats_are_met_on_average():
    """Meat Refrigeration (James and James), Table 13.2 (seen): 5 % on average over 13 meats."""
    ratios = []
    for row in MEASURED:
        water = middle(row.water_pct) / 100
        meat = Composition(water, min(0.22, 1 - water), max(0.78 - water, 0.0))
        ratios.append(specific_heat(meat, middle(row.temp_c or "5")) / 1000 / float(row.value))
    assert len(ratios) == 13
    assert sum(ratios) / len(ratios) == pytest.approx(1, abs=0.05)


@pytest.mark.parametrize("temp_c", [0, 10, 20])
def test_chicken_conducts_between_the_bounds(temp_c):
    """SWEAT1973, chicken white meat (seen): k = 0.476 + 0.0006 T, between series and parallel."""
    (row,) = thermal_rows("measured", item="chicken, white meat", cited_only=True)
    measured = float(row.a0) + float(row.a1) * temp_c
    meat = Composition(water=0.745, protein=0.23, fat=0.015, ash=0.01)
    assert conductivity_series(meat, temp_c) < measured < conductivity_parallel(meat, temp_c)
