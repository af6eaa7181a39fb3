"""docs/buying.md and docs/longlist.md say what the commands do."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from collop.chalk.buying import buying
from collop.chalk.buying_figures import published_band
from collop.chalk.buying_schema import SCHEMAS
from collop.shop.farm_orders import MET_WITHIN_DAYS
from collop.shop.season_list import HANGS_DAYS

DOCS = Path(__file__).parents[2] / "docs"
TEXT = (DOCS / "buying.md").read_text(encoding="utf-8")
LONG = (DOCS / "longlist.md").read_text(encoding="utf-8")


def _read(name):
    return json.loads((DOCS / "examples" / name).read_text(encoding="utf-8"))


def test_the_worked_example_gives_the_documented_plan():
    """The problem runs into its plan, and both keep their schemas."""
    problem, plan = _read("buying.json"), _read("buying.plan.json")
    assert buying(problem) == plan
    jsonschema.validate(problem, SCHEMAS["buying"])
    jsonschema.validate(plan, SCHEMAS["buying.plan"])
    for schema in SCHEMAS.values():
        jsonschema.Draft202012Validator.check_schema(schema)


def test_every_key_is_described():
    """The page names each key of the problem, its offers and the plan."""
    asked = SCHEMAS["buying"]["properties"]
    keys = set(asked) | set(SCHEMAS["buying.plan"]["properties"])
    for one in asked["offers"]["items"]["oneOf"]:
        keys |= set(one["properties"])
    for key in keys - {"schema", "name"}:
        assert f"`{key}`" in TEXT, key


@pytest.mark.parametrize("species", ["beef", "pork", "lamb"])
def test_figures_on_the_page_are_those_in_use(species):
    """Usual figure and ends of each band."""
    for figure in ("dressing", "shrink", "take_home"):
        band = published_band(figure, species)
        usual, low, high = (f"{float(end * 100):g}" for end in (band.usual, band.low, band.high))
        assert f"{usual} %" + ("" if low == high else f", {low} to {high}") in TEXT


def test_own_figures_of_the_long_list_are_those_in_use():
    """Days beef hangs, and days a delivery may be away from its order."""
    assert f"hung\n  {HANGS_DAYS['beef']} days" in LONG
    assert f"at most {MET_WITHIN_DAYS} days" in LONG
