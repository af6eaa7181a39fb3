"""docs/fire.md says what the command does."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema

from collop.fire import fire
from collop.fire.fire_schema import SCHEMAS

DOCS = Path(__file__).parents[2] / "docs"
PAGE = (DOCS / "fire.md").read_text(encoding="utf-8")


def _read(name):
    return json.loads((DOCS / "examples" / name).read_text(encoding="utf-8"))


def test_the_worked_example_gives_the_documented_plan():
    """The worked problem runs into its plan, and both keep their schemas."""
    problem, plan = _read("fire.json"), _read("fire.plan.json")
    assert fire(problem) == plan
    jsonschema.validate(problem, SCHEMAS["fire"])
    jsonschema.validate(plan, SCHEMAS["fire.plan"])
    for schema in SCHEMAS.values():
        jsonschema.Draft202012Validator.check_schema(schema)


def test_every_key_is_described():
    """The page names each key of the problem, of an item, and of the plan."""
    problem = SCHEMAS["fire"]["properties"]
    keys = set(problem) | set(SCHEMAS["fire.plan"]["properties"])
    keys |= set(problem["items"]["items"]["properties"])
    keys |= set(problem["fire"]["properties"]["zones"]["items"]["properties"])
    keys |= set(problem["fire"]["properties"]) | {"form", "thickness_mm", "shape", "fat_rich"}
    for key in keys - {"schema"}:
        assert f"`{key}" in PAGE or f".{key}" in PAGE, key
