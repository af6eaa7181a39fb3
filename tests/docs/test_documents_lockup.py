"""docs/counting.md and docs/lockup.md say what the commands and the shop do."""

from __future__ import annotations

import json
import re
from pathlib import Path

import jsonschema
import pytest

from collop.chalk import counting_reading
from collop.chalk.counting import counting
from collop.chalk.counting_schema import SCHEMAS
from collop.shop import converting, freezing
from collop.shop.ageing import FREEZE_PRICE
from collop.shop.lockup_model import WORDS

DOCS = Path(__file__).parents[2] / "docs"
COUNTING = (DOCS / "counting.md").read_text(encoding="utf-8")
LOCKUP = (DOCS / "lockup.md").read_text(encoding="utf-8")


def _read(name):
    return json.loads((DOCS / "examples" / name).read_text(encoding="utf-8"))


def test_the_worked_example_gives_the_documented_plan():
    """The problem runs into its plan, and both keep their schemas."""
    problem, plan = _read("counting.json"), _read("counting.plan.json")
    assert counting(problem) == plan
    jsonschema.validate(problem, SCHEMAS["counting"])
    jsonschema.validate(plan, SCHEMAS["counting.plan"])
    for schema in SCHEMAS.values():
        jsonschema.Draft202012Validator.check_schema(schema)


def test_every_key_is_described():
    """The page names each key of the problem, its lines and the plan."""
    keys = set(SCHEMAS["counting"]["properties"]) | set(SCHEMAS["counting.plan"]["properties"])
    for part in ("counting", "counting.plan"):
        keys |= set(SCHEMAS[part]["properties"]["lines"]["items"]["properties"])
    for key in keys - {"schema", "name", "id"}:
        assert f"`{key}`" in COUNTING, key


FIGURES = re.findall(r"\| `([A-Z_]+)` \| ([0-9.]+) \|", COUNTING)


@pytest.mark.parametrize(("name", "figure"), FIGURES)
def test_starting_figures_on_the_page_are_those_in_use(name, figure):
    """Those of pounds are the pounds of the table."""
    value = getattr(counting_reading, name)
    assert float(value["lb"] if isinstance(value, dict) else value) == float(figure)


def test_the_figures_and_words_of_the_lock_up_are_those_in_use():
    """Days in the freezer, the share of the price, what is boned, and what is said of bookings."""
    assert f"keeps {freezing.FROZEN_DAYS['whole']} days, mince {freezing.FROZEN_DAYS['ground']}" \
        in LOCKUP  # fmt: skip
    assert f"at {float(FREEZE_PRICE)} of the usual price" in LOCKUP
    assert f"under {converting.BONE_IN} boneless" in LOCKUP
    assert f"{', '.join(WORDS[:-1])} or {WORDS[-1]}" in LOCKUP
