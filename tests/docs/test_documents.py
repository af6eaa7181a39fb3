"""What the documents say is what the product does."""

from __future__ import annotations

import json
import re
from pathlib import Path

import jsonschema

from collop.cli import main
from collop.spread import answer
from collop.spread.problem import DISH_STYLES
from collop.spread.schema import SCHEMAS

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"


def _read(name):
    return json.loads((DOCS / "examples" / name).read_text(encoding="utf-8"))


def test_the_worked_example_gives_the_documented_plan():
    """docs/examples/spread.json runs into spread.plan.json."""
    assert answer(_read("spread.json")) == _read("spread.plan.json")


def test_ask_and_plan_keep_their_schemas():
    """The example and its plan are valid by the printed schemas."""
    for name in SCHEMAS:
        jsonschema.Draft202012Validator.check_schema(SCHEMAS[name])
    jsonschema.validate(_read("spread.json"), SCHEMAS["spread"])
    jsonschema.validate(_read("spread.plan.json"), SCHEMAS["spread.plan"])


def test_a_no_keeps_its_schema():
    """A refused ask is a valid plan as well."""
    ask = _read("spread.json") | {"budget_total": "10.00"}
    plan = answer(ask)
    assert plan["answer"] == "no"
    jsonschema.validate(plan, SCHEMAS["spread.plan"])


def test_every_key_of_an_ask_is_described():
    """docs/spread.md names each key of the ask."""
    text = (DOCS / "spread.md").read_text(encoding="utf-8")
    for key in SCHEMAS["spread"]["properties"]:
        if key not in {"schema", "currency", "rounding"}:
            assert f"`{key}" in text, key


def test_documented_defaults_are_the_defaults():
    """The portions in docs/spread.md are those of the kernel."""
    text = (DOCS / "spread.md").read_text(encoding="utf-8")
    portions = ", ".join(f"{style} {float(p):g}" for style, (_, p) in DISH_STYLES.items())
    assert portions in text


def test_the_readme_names_every_command():
    """README lists each command."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    for name in main.commands:
        assert f"collop {name}" in text, name


def test_links_between_documents_lead_somewhere():
    """Relative links in README and docs exist."""
    for path in [ROOT / "README.md", *DOCS.rglob("*.md")]:
        for target in re.findall(r"\]\(([^)#:]+)\)", path.read_text(encoding="utf-8")):
            assert (path.parent / target).exists(), (path.name, target)
