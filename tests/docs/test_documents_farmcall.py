"""docs/farmcall.md says what the command does."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema

from collop.bench.farm_checker import check_farmcall
from collop.bench.farm_program import MOST_REACH
from collop.bench.farm_reading import USUAL_COMMON_CV, read_farmcall
from collop.bench.farmcall import farmcall
from collop.bench.farmcall_schema import SCHEMAS
from collop.bench.reading_case import USUAL_ELASTICITY
from collop.reference import season_rows

DOCS = Path(__file__).parents[2] / "docs"
TEXT = (DOCS / "farmcall.md").read_text(encoding="utf-8")


def _read(name):
    return json.loads((DOCS / "examples" / name).read_text(encoding="utf-8"))


def test_the_worked_example_gives_the_documented_plan():
    """The worked problem runs into its plan; both keep their schemas, and the plan is sound."""
    problem, plan = _read("farmcall.json"), _read("farmcall.plan.json")
    assert farmcall(problem) == plan
    jsonschema.validate(problem, SCHEMAS["farmcall"])
    jsonschema.validate(plan, SCHEMAS["farmcall.plan"])
    for schema in SCHEMAS.values():
        jsonschema.Draft202012Validator.check_schema(schema)
    assert check_farmcall(read_farmcall(problem), plan) == []


def test_every_key_is_described():
    """The page names each key of the problem and of the plan, and of their lines."""
    asked, told = (SCHEMAS[name]["properties"] for name in ("farmcall", "farmcall.plan"))
    keys = {*asked, *told}
    for part in ("animals", "cuts", "standing", "season", "hanging"):
        keys |= set(asked[part].get("items", {}).get("properties", {}))
    for part in ("orders", "cuts", "standing", "scenarios"):
        keys |= set(told[part]["items"]["properties"])
    for key in keys - {"schema", "name", "id", "species", "say", "currency"}:
        assert f"`{key}" in TEXT or f".{key}`" in TEXT, key


def test_figures_on_the_page_are_those_in_use():
    """Usual elasticity, scatter and reach, and the published summer index with its source."""
    assert f"{USUAL_ELASTICITY}; 1, 0.9, 0.8, 0.7" in TEXT
    assert f"40, 1, {USUAL_COMMON_CV}" in TEXT
    assert f"more than {MOST_REACH} times" in TEXT
    (row,) = [one for one in season_rows(item="all fresh beef") if "15 weeks" in one.window]
    assert f"0.{row.value} / (15 / 52) = {row.index}" in TEXT
    assert row.source.title in TEXT
