"""docs/learning.md: its worked files and the figures it names."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from collop.chalk.pace import WORTH_DAYS, pace
from collop.shop.learning_cuts import WORTH
from collop.spread.appetites import LEAST_ORDERS, ORDER_SD, PRIOR_SD, appetite

DOCS = Path(__file__).parents[2] / "docs"
TEXT = (DOCS / "learning.md").read_text(encoding="utf-8")


@pytest.mark.parametrize(("name", "kernel"), [("appetite", appetite), ("pace", pace)])
def test_the_worked_problem_runs_into_its_plan(name, kernel):
    """docs/examples holds both."""
    problem, plan = (
        json.loads((DOCS / "examples" / f"{name}{end}.json").read_text(encoding="utf-8"))
        for end in ("", ".plan")
    )
    assert kernel(problem) == plan


def test_the_figures_are_those_of_the_code():
    """Starting figures stand in the text as they are used."""
    assert f"| {PRIOR_SD} |" in TEXT
    assert f"| {ORDER_SD} |" in TEXT
    assert f"| {LEAST_ORDERS} |" in TEXT
    assert f"n0 = {WORTH_DAYS} days" in TEXT
    assert WORTH == 4
    assert "counts as four tests" in TEXT
