"""docs/lethality.md says what the lethality command does."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from collop.fire.lethality_plan import lethality
from collop.fire.lethality_schema import SCHEMAS
from collop.fire.lethality_tables import TABLES, beef_regression, literature
from collop.reference import cook_minimum

DOCS = Path(__file__).parents[2] / "docs"
PAGE = (DOCS / "lethality.md").read_text(encoding="utf-8")
PROBLEM = json.loads((DOCS / "examples/lethality.json").read_text(encoding="utf-8"))
PLAN = json.loads((DOCS / "examples/lethality.plan.json").read_text(encoding="utf-8"))


def test_the_worked_pair_is_true():
    """docs/examples/lethality.json runs into lethality.plan.json."""
    assert lethality(PROBLEM) == PLAN


def test_the_worked_pair_shows_a_count_that_does_not_meet_the_minimum():
    """The table is reached, the slowest rate is not, and the minimum is not met."""
    assert PLAN["reached"]
    assert not PLAN["reached_by_all"]
    assert not PLAN["published_minimum"]["met"]


def test_problem_and_plan_keep_their_schemas():
    """Problem, both plans and an unknown key are told apart."""
    for schema in SCHEMAS.values():
        jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(PROBLEM, SCHEMAS["lethality"])
    jsonschema.validate(PLAN, SCHEMAS["lethality.plan"])
    look_up = {key: PROBLEM[key] for key in ("schema", "table")} | {"at_c": [54.4, 60]}
    jsonschema.validate(look_up, SCHEMAS["lethality"])
    jsonschema.validate(lethality(look_up), SCHEMAS["lethality.plan"])
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(PROBLEM | {"unknown": 1}, SCHEMAS["lethality"])


def test_every_key_is_described():
    """The page names each key of the problem, and each of the plan."""
    for key in SCHEMAS["lethality"]["properties"]:
        assert key == "schema" or f"`{key}" in PAGE, key
    for key in PLAN:
        assert key == "schema" or f"`{key}" in PAGE, key


def test_tables_figures_and_minimums_are_those_of_the_product():
    """Names of tables, death rates and minimums on the page are what the command uses."""
    for name in TABLES:
        assert f"`{name}`" in PAGE
    rate = beef_regression()
    assert f"z {rate.z_c:.2f} K" in PAGE
    assert f"D {rate.d_min:.2f} min at 60 °C" in PAGE
    for one in literature():
        assert f"| {one.organism} | {one.d_min:.2f} | {one.z_c:.2f} | {one.target:g} |" in PAGE
    for cook_as in ("whole", "ground", "poultry"):
        assert cook_minimum(cook_as).text() in PAGE
