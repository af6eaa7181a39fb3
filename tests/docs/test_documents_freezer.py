"""docs/freezer.md says what the command does."""

from __future__ import annotations

import json
from pathlib import Path

from collop.carcass import freezer_ways
from collop.carcass.freezer import freezer_order
from collop.carcass.freezer_schema import SCHEMAS
from collop.carcass.freezer_ways import TAKE_HOME, take_home_row

DOCS = Path(__file__).parents[2] / "docs"
TEXT = (DOCS / "freezer.md").read_text(encoding="utf-8")


def _read(name):
    return json.loads((DOCS / "examples" / name).read_text(encoding="utf-8"))


def test_the_worked_example_gives_the_documented_plan():
    """The worked problem runs into its plan."""
    assert freezer_order(_read("freezer.json")) == _read("freezer.plan.json")


def test_every_key_of_the_problem_is_described():
    """The page names each key that may be asked, of the order and of its parts."""
    asked = SCHEMAS["freezer"]["properties"]
    part = asked["parts"]["items"]["properties"]
    keys = {*asked, *part, *part["choices"]["items"]["properties"]} - {"schema", "name", "unit"}
    for key in keys:
        assert f"`{key}" in TEXT or f".{key}" in TEXT, key


def test_figures_on_the_page_are_those_in_use():
    """Published take-home and the starting figures have the values of the code."""
    for species, source in TAKE_HOME.items():
        assert f"{species} {take_home_row(species).figure} % ({source})" in TEXT
    low, high = freezer_ways.BONELESS_LB_PER_CUBIC_FOOT
    assert f"| {low} to {high} lb |" in TEXT
    low, high = freezer_ways.BONE_IN_LB_PER_CUBIC_FOOT
    assert f"| {low} to {high} lb |" in TEXT
    told = ", ".join(f"{name} {pct}" for name, pct in freezer_ways.TRIM_FAT_PCT.items())
    assert told in TEXT
    assert f"| {freezer_ways.FAT_OF_FAT_PCT} |" in TEXT
