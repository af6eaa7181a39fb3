"""Every row of the published joint costs is held against the kernel, or left out by name."""

from __future__ import annotations

import importlib
from decimal import Decimal
from pathlib import Path

from collop.reference import joint_cost_rows
from published.joint_sheets import key

MODULES = sorted(
    path.stem
    for pattern in ("test_joint_cost_*.py", "test_margin_*.py")
    for path in Path(__file__).parent.glob(pattern)
    if path.stem != Path(__file__).stem
)
#: Levels that managers quote (M01, M02, seen): they are targets, nothing follows from anything.
LEVELS = [row for row in joint_cost_rows() if row.check == "not_checked"]


def test_each_row_with_a_figure_is_worked_out_once():
    """All sources of the table: no row of the ten examples is left out, none worked out twice."""
    found = []
    for name in MODULES:
        found += importlib.import_module(f"published.{name}").FIGURES
    assert len(found) == len(set(found))
    assert set(found) == {key(row) for row in joint_cost_rows() if row not in LEVELS}
    assert len(found) == 79


def test_only_quoted_levels_are_not_worked_out():
    """Margin killers (M01) and threads of meat managers (M02), seen: percents of sales."""
    assert {row.example_id for row in LEVELS} == {"TG01"}
    assert {row.source.source_id for row in LEVELS} == {"M01", "M02"}
    assert all(row.expected is None and Decimal(0) < row.printed < 100 for row in LEVELS)


def test_no_row_is_from_memory():
    """All sources of the table: figures were seen, or computed from what was seen."""
    assert all(row.is_cited for row in joint_cost_rows())
