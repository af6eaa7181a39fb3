"""docs/heat.md says what the command does."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema

from collop.fire.heat import heat
from collop.fire.heat_reading import FACE_KEYS, SPREADS, USUAL_SAMPLES
from collop.fire.heat_schema import SCHEMAS

DOCS = Path(__file__).parents[2] / "docs"
TEXT = (DOCS / "heat.md").read_text(encoding="utf-8")


def _read(name):
    return json.loads((DOCS / "examples" / name).read_text(encoding="utf-8"))


def test_the_worked_example_gives_the_documented_plan():
    """The worked problem runs into its plan, and both keep their schemas."""
    problem, plan = _read("heat.json"), _read("heat.plan.json")
    assert heat(problem) == plan
    jsonschema.validate(problem, SCHEMAS["heat"])
    jsonschema.validate(plan, SCHEMAS["heat.plan"])
    for schema in SCHEMAS.values():
        jsonschema.Draft202012Validator.check_schema(schema)


def test_every_key_is_described():
    """The page names each key of the problem, of a face, of a spread, and of the plan."""
    keys = set(SCHEMAS["heat"]["properties"]) | set(SCHEMAS["heat.plan"]["properties"])
    keys |= set(FACE_KEYS) | set(SPREADS)
    for key in keys - {"schema", "name"}:
        assert f"`{key}`" in TEXT, key


def test_the_usual_number_of_samples_on_the_page_is_that_in_use():
    """As many pieces as the page says are drawn if nothing is asked."""
    assert f"({USUAL_SAMPLES})" in TEXT
