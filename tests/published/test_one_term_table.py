"""The one-term table: first root and coefficient for 29 Biot numbers and three shapes.

Source: Cengel and Ghajar, Heat and Mass Transfer, Table 4-2, source id CENGEL_T42; rows of Bi 100
and infinity are computed, source id CALC. Late in the heating theta at the centre is
``C1 exp(-lambda1^2 Fo)``: both figures are read off two late cores.
"""

from __future__ import annotations

import numpy as np
import pytest

from collop.fire.conduction import Bodies, Leg, Phase, run
from collop.fire.surfaces import Face
from collop.reference import conduction_check_rows

ROWS = conduction_check_rows("one_term", cited_only=True)
SHAPES = {"slab": 0.0, "cylinder": 1.0, "sphere": 2.0}
RADIUS, ALPHA, K = 0.02, 1.3e-7, 0.48


def _read_off(rows, shape):
    """Return roots and coefficients as the engine has them; each row is a sample."""
    biot = np.array([min(float(row.biot), 1e6) for row in rows])  # Bi 1e6 stands for infinity
    root = np.array([float(row.root) for row in rows])
    # late enough that the second term is gone, early enough that something is left
    first, more = np.maximum(0.5, 0.1 / root**2), 1.5 / root**2
    minutes = RADIUS**2 / ALPHA / 60
    face = Face(gas_c=0.0, h=biot * K / RADIUS)
    phases = [Phase([Leg(first * minutes, face)]), Phase([Leg(more * minutes, face)])]
    trace = run(Bodies(RADIUS, shape, ALPHA, K, 1.0), phases, step_s=10.0)
    one, two = trace.core_end_c
    found = np.sqrt(np.log(one / two) / more)
    return found, one * np.exp(found**2 * first)


def test_the_table_is_whole():
    """29 Biot numbers for each shape."""
    assert len(ROWS) == 87
    assert {row.geometry for row in ROWS} == set(SHAPES)


@pytest.mark.parametrize("geometry", SHAPES)
def test_roots_and_coefficients_are_those_of_the_table(geometry):
    """Each root within 0.001 of itself, each coefficient within 0.0015."""
    rows = [row for row in ROWS if row.geometry == geometry]
    assert len(rows) == 29
    roots, coefficients = _read_off(rows, SHAPES[geometry])
    for row, root, coefficient in zip(rows, roots, coefficients, strict=True):
        # 0.00005 is half of the last printed digit
        assert root == pytest.approx(float(row.root), rel=1e-3, abs=5e-5), row.biot
        assert coefficient == pytest.approx(float(row.coefficient), rel=1.5e-3), row.biot
