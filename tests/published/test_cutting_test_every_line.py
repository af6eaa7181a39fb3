"""Every line of the published cutting tests is held against the kernels, or skipped by name."""

from __future__ import annotations

import importlib
from pathlib import Path

import pytest

from collop.reference import cutting_test_rows
from collop.reference.cuttingtests import CHECKS
from published.cutting_sheets import UNCHECKED

MODULES = sorted(
    path.stem
    for path in Path(__file__).parent.glob("test_cutting_test_*.py")
    if path.stem != Path(__file__).stem
)
NEEDED = {(r.test_id, r.step) for r in cutting_test_rows() if r.check not in UNCHECKED}


def test_each_line_with_a_figure_is_worked_out_once():
    """All sources of the table: no line of the 21 sheets is left out, none is worked out twice."""
    found = []
    for name in MODULES:
        found += importlib.import_module(f"published.{name}").FIGURES
    assert len(found) == len(set(found))
    assert set(found) == NEEDED
    assert len({test_id for test_id, _ in found}) == 21


@pytest.mark.parametrize("kind", CHECKS)
def test_the_marks_of_the_table_are_all_used(kind):
    """All sources of the table: each way a printed figure can compare occurs."""
    assert any(row.check == kind for row in cutting_test_rows())


def test_the_expected_figure_is_never_the_misprint():
    """All sources of the table: where a slip is printed, another figure is expected."""
    slips = [row for row in cutting_test_rows() if row.is_misprinted]
    assert len(slips) == 17
    assert all(row.expected is not None and row.expected != row.printed for row in slips)


def test_no_line_is_from_memory():
    """All sources of the table: figures were seen, or computed from what was seen."""
    assert all(row.is_cited for row in cutting_test_rows())
