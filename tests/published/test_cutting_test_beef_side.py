"""Cost Estimate of Beef by the Side, University of Minnesota Extension (S14)."""

from __future__ import annotations

import pytest

from published.cutting_sheets import check, lines, sheet


def _taken_home(pounds):
    return sheet(300, loss_weight=str(300 - pounds))["yield_pct"]


FIGURES = {("CT13", 2): _taken_home(210), ("CT13", 3): _taken_home(225),
           ("CT13", 4): _taken_home(165)}  # fmt: skip


@pytest.mark.parametrize("row", lines("S14"))
def test_each_line_of_the_side(row):
    """Beef by the side (S14, seen): 70 and 55 % follow; 225 of 300 lb is not 85 %."""
    check(row, FIGURES)
