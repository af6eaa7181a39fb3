"""docs/replay.md says what the command does."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema

from collop.bench.replaying import replay
from collop.bench.replaying_schema import SCHEMAS
from collop.bench.replaying_walk import LEAST_SHARE

DOCS = Path(__file__).parents[2] / "docs"


def _read(name):
    return json.loads((DOCS / "examples" / name).read_text(encoding="utf-8"))


def test_the_worked_example_gives_the_documented_plan():
    """The worked day runs into its plan, and both keep their schemas."""
    problem, plan = _read("replay.json"), _read("replay.plan.json")
    assert replay(problem) == plan
    jsonschema.validate(problem, SCHEMAS["replay"])
    jsonschema.validate(plan, SCHEMAS["replay.plan"])
    for schema in SCHEMAS.values():
        jsonschema.Draft202012Validator.check_schema(schema)


def test_every_key_is_described():
    """The page names each key of the problem, of its lines, and of the plan."""
    text = (DOCS / "replay.md").read_text(encoding="utf-8")
    keys = set(SCHEMAS["replay"]["properties"]) | set(SCHEMAS["replay.plan"]["properties"])
    for part in SCHEMAS["replay"]["properties"].values():
        for side in part.get("anyOf", [part]):
            keys |= set(side.get("items", {}).get("properties", {}))
    keys |= set(SCHEMAS["replay"]["properties"]["cuts"]["items"]["properties"]["days"]["items"]
                ["properties"])  # fmt: skip
    for key in keys - {"schema", "name", "id"}:
        assert f"`{key}" in text or f".{key}`" in text, key


def test_the_figure_of_ours_is_the_one_in_use():
    """A fifth of the day is the least that a pace is taken from."""
    assert float(LEAST_SHARE) == 0.2
    assert "first fifth" in (DOCS / "replay.md").read_text(encoding="utf-8")
