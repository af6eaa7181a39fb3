"""docs/blend.md says what the command does."""

from __future__ import annotations

import json
import re
from pathlib import Path

import jsonschema

from collop.bench.blend import blend
from collop.bench.blend_schema import SCHEMAS
from collop.bench.blending_standards import FAT_AS_SUCH, STANDARDS, limits_of

DOCS = Path(__file__).parents[2] / "docs"
PAGE = (DOCS / "blend.md").read_text(encoding="utf-8")


def _read(name):
    return json.loads((DOCS / "examples" / name).read_text(encoding="utf-8"))


def test_the_worked_example_gives_the_documented_plan():
    """The worked problem runs into its plan, and both keep their schemas."""
    problem, plan = _read("blend.json"), _read("blend.plan.json")
    assert blend(problem) == plan
    jsonschema.validate(problem, SCHEMAS["blend"])
    jsonschema.validate(plan, SCHEMAS["blend.plan"])
    for schema in SCHEMAS.values():
        jsonschema.Draft202012Validator.check_schema(schema)


def test_every_key_is_described():
    """The page names each key of the problem, of its lines, and of the plan."""
    keys = set(SCHEMAS["blend"]["properties"]) | set(SCHEMAS["blend.plan"]["properties"])
    for part in ("bins", "recipes"):
        keys |= set(SCHEMAS["blend"]["properties"][part]["items"]["properties"])
    for key in keys - {"schema", "name", "id"}:
        assert f"`{key}" in PAGE or f".{key}`" in PAGE, key


def test_the_published_limits_on_the_page_are_those_in_use():
    """Each standard with its figures, its rows, and which of them are from memory."""
    rows = {line.split(" | ")[0].strip("| "): line for line in PAGE.splitlines() if "| LB0" in line}
    assert set(rows) == set(STANDARDS)
    for standard, line in rows.items():
        limits = limits_of(standard)
        assert set(re.findall(r"LB\d+", line)) == {limit.row.rule_id for limit in limits}
        for limit in limits:
            if limit.figure:
                assert f"{limit.what} {float(limit.figure * 100):g} %" in line
        assert ("from memory" in line) == any(not limit.row.is_cited for limit in limits)
    assert f"{float(FAT_AS_SUCH * 100):g} % fat or" in PAGE
