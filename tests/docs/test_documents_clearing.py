"""docs/clearing.md and docs/demand.md say what the two commands do."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from collop.chalk import clearing, demand
from collop.chalk.clearing_schema import SCHEMAS as CLEARING
from collop.chalk.demand_plan import NOISE_SD, NOISE_WEEKS, OWN_WEIGHT
from collop.chalk.demand_schema import SCHEMAS as DEMAND

DOCS = Path(__file__).parents[2] / "docs"
KERNELS = {"clearing": (clearing, CLEARING), "demand": (demand, DEMAND)}


def _read(name):
    return json.loads((DOCS / "examples" / name).read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", KERNELS)
def test_the_worked_example_gives_the_documented_plan(name):
    """Each worked problem runs into its plan, and both keep their schemas."""
    solve, schemas = KERNELS[name]
    problem, plan = _read(f"{name}.json"), _read(f"{name}.plan.json")
    assert solve(problem) == plan
    jsonschema.validate(problem, schemas[name])
    jsonschema.validate(plan, schemas[f"{name}.plan"])
    for schema in schemas.values():
        jsonschema.Draft202012Validator.check_schema(schema)


@pytest.mark.parametrize("name", KERNELS)
def test_every_key_is_described(name):
    """The page names each key of the problem, and of its lines, and of the plan."""
    text = (DOCS / f"{name}.md").read_text(encoding="utf-8")
    schemas = KERNELS[name][1]
    keys = set(schemas[name]["properties"]) | set(schemas[f"{name}.plan"]["properties"])
    for part in schemas[name]["properties"].values():
        keys |= set(part.get("items", {}).get("properties", {}))
    for key in keys - {"schema", "name", "id"}:
        assert f"`{key}" in text or f".{key}`" in text, key


def test_figures_of_ours_on_the_page_are_those_in_use():
    """The usual scatter and the share that makes a figure the shop's own."""
    text = (DOCS / "demand.md").read_text(encoding="utf-8")
    assert f"{NOISE_WEEKS} x {NOISE_SD}^2" in text
    assert f"{OWN_WEIGHT}" in text
