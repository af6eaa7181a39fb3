"""docs/carcass.md says what the carcass commands do."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from collop.carcass import (
    PIECES,
    SPECIES,
    closes,
    large_cuts,
    problems,
    published_tables,
    styles_of,
)
from collop.carcass.schema import SCHEMAS

DOCS = Path(__file__).parents[2] / "docs"
PAGE = (DOCS / "carcass.md").read_text(encoding="utf-8")
PLANS = {
    "styles": problems.styles_plan,
    "yieldgrade": problems.yield_grade_plan,
    "takehome": problems.take_home_plan,
}


def test_every_table_is_named_with_its_verdict():
    """The page lists each table, and says no where a table does not close."""
    lines = {line.split("`")[1]: line for line in PAGE.splitlines() if line.startswith("| `")
             and line.split("`")[1].isupper()}  # fmt: skip
    assert set(lines) == set(published_tables())
    for table_id, line in lines.items():
        if "partial" not in line:
            assert ("| yes" in line) == closes(table_id).closes


def test_every_piece_and_style_is_named():
    """What can be chosen stands on the page."""
    for piece in PIECES:
        assert f"| {piece.title} |" in PAGE
    for species in SPECIES:
        for cut in large_cuts(species):
            assert f"**{species}, {cut.name}**" in PAGE
            for style in styles_of(species, cut.name):
                assert style.name in PAGE


@pytest.mark.parametrize("name", PLANS)
def test_every_key_of_a_problem_is_described_and_its_file_runs(name):
    """Each worked file has only described keys and gives a plan."""
    problem = json.loads((DOCS / f"examples/carcass-{name}.json").read_text(encoding="utf-8"))
    for key in problem:
        assert f"`{key}`" in PAGE
    assert PLANS[name](problem)["schema"] == f"collop.{name}.plan/1"


def test_every_key_of_take_home_is_described():
    """The optional keys too."""
    for key in problems._TAKE_HOME_KEYS:
        assert f"`{key}`" in PAGE


@pytest.mark.parametrize("name", PLANS)
def test_problem_and_plan_keep_their_schemas(name):
    """Each worked file and its plan are valid, and an unknown key is not."""
    for schema in (SCHEMAS[name], SCHEMAS[f"{name}.plan"]):
        jsonschema.Draft202012Validator.check_schema(schema)
    problem = json.loads((DOCS / f"examples/carcass-{name}.json").read_text(encoding="utf-8"))
    jsonschema.validate(problem, SCHEMAS[name])
    jsonschema.validate(PLANS[name](problem), SCHEMAS[f"{name}.plan"])
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(problem | {"unknown": 1}, SCHEMAS[name])


def test_a_refused_short_method_keeps_its_schema():
    """A plan with a null is valid too."""
    problem = {
        "schema": "collop.yieldgrade/1", "adjusted_fat_in": "0.4", "kph_pct": "2",
        "ribeye_sq_in": "12", "hot_carcass_lb": "550",
    }  # fmt: skip
    jsonschema.validate(problems.yield_grade_plan(problem), SCHEMAS["yieldgrade.plan"])


def test_the_schema_knows_every_key_of_take_home():
    """Keys that are read and keys that are described are the same."""
    assert set(SCHEMAS["takehome"]["properties"]) == set(problems._TAKE_HOME_KEYS)
