"""docs/benches.md says what the command ``benches`` does."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema

from collop.bench.many import plan_many
from collop.bench.many_schema import SCHEMAS

DOCS = Path(__file__).parents[2] / "docs"
TEXT = (DOCS / "benches.md").read_text(encoding="utf-8")


def _read(name):
    return json.loads((DOCS / "examples" / name).read_text(encoding="utf-8"))


def test_the_worked_example_gives_the_documented_plan():
    """The worked problem runs into its plan."""
    assert plan_many(_read("benches.json")) == _read("benches.plan.json")


def test_problem_and_plan_keep_their_schemas():
    """The pair is valid by the printed schemas."""
    for schema in SCHEMAS.values():
        jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(_read("benches.json"), SCHEMAS["benches"])
    jsonschema.validate(_read("benches.plan.json"), SCHEMAS["benches.plan"])


def test_every_key_is_described():
    """The page names each key of the problem, of its lines, and of the plan."""
    problem = SCHEMAS["benches"]["properties"]
    keys = set(problem) | set(SCHEMAS["benches.plan"]["properties"])
    for part in ("shops", "transfers"):
        keys |= set(problem[part]["items"]["properties"])
        keys |= set(SCHEMAS["benches.plan"]["properties"][part]["items"]["properties"])
    for key in keys - {"schema", "name", "id"}:
        assert f"`{key}" in TEXT or f".{key}`" in TEXT, key


def test_the_example_shows_a_booking_made_whole_by_a_van():
    """Alone a booking of the example is short; with the vans it is met, and money is gained."""
    problem, plan = _read("benches.json"), _read("benches.plan.json")
    alone = plan_many(problem | {"transfers": []})
    assert [one["plan"]["answer"] for one in alone["shops"]] == ["all", "short", "all"]
    assert [one["plan"]["answer"] for one in plan["shops"]] == ["all", "all", "all"]
    assert float(plan["gain"]) > 0
