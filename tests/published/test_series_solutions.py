"""Series solutions of heating with a constant heat transfer coefficient, three shapes.

Sources: `conduction_checks.csv`, case ``series reference``: 60-term series of slab and sphere,
source id CALC (Computed from the stated inputs). The table has no cylinder: its series is computed
here from the Bessel functions of scipy.
"""

from __future__ import annotations

import pytest

from collop.fire.heat import heat
from collop.reference import conduction_check_rows
from fire.heatcases import series_theta

SHAPES = {"slab": 0.0, "cylinder": 1.0, "sphere": 2.0}
ROWS = [
    row
    for row in conduction_check_rows("worked_example", cited_only=True)
    if row.case == "series reference"
]
RADIUS, ALPHA, K = 0.02, 1.3e-7, 0.48


def _thetas(biot, fourier, **shape):
    """Return theta at the centre and the surface as the kernel gives it."""
    problem = {
        "schema": "collop.heat/1",
        **shape,
        "half_thickness_m": RADIUS,
        "alpha_m2_s": ALPHA,
        "k_w_mk": K,
        "h_w_m2k": biot * K / RADIUS,
        "start_c": 5,
        "medium_c": 60,
        "at_min": [fourier * RADIUS**2 / ALPHA / 60],
    }
    return [heat(problem | {"position": position})["theta"][0] for position in (0, 1)]


def _numbers(row):
    words = row.inputs.split()
    return float(words[1]), float(words[3])


def test_all_rows_are_there():
    """34 rows, of slab and sphere."""
    assert len(ROWS) == 34
    assert {row.geometry for row in ROWS} == {"slab", "sphere"}


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.geometry} {row.inputs}")
def test_centre_and_surface_follow_the_series(row):
    """Theta of each row within 0.002, centre and surface."""
    centre, surface = _thetas(*_numbers(row), shape=row.geometry)
    assert centre == pytest.approx(float(row.value), abs=0.002)
    assert surface == pytest.approx(float(row.value_high), abs=0.002)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.geometry} {row.inputs}")
def test_the_series_of_these_tests_is_the_published_one(row):
    """The series computed here gives the rows to their last digit but one."""
    biot, fourier = _numbers(row)
    centre, surface = series_theta(SHAPES[row.geometry], biot, fourier)
    assert centre == pytest.approx(float(row.value), abs=2e-5)
    assert surface == pytest.approx(float(row.value_high), abs=2e-5)


@pytest.mark.parametrize("shape", [0.3, 1.0, 1.3])
@pytest.mark.parametrize("biot", [0.5, 2.0, 20.0])
@pytest.mark.parametrize("fourier", [0.05, 0.2, 0.8])
def test_cylinder_and_shapes_between_follow_their_series(shape, biot, fourier):
    """Theta within 0.002 of the Bessel series: 1 is the cylinder."""
    centre, surface = series_theta(shape, biot, fourier)
    found = _thetas(biot, fourier, shape_factor=shape)
    assert found == [pytest.approx(centre, abs=0.002), pytest.approx(surface, abs=0.002)]
    if shape == 1.0:
        assert _thetas(biot, fourier, shape="cylinder") == found
