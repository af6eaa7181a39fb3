"""docs/ticket.md says what the command ``ticket`` does."""

from __future__ import annotations

import json
import re
from pathlib import Path

import jsonschema
import pytest

from collop.rules.labelling import CLASSES, MOST_DAYS_VACUUM, TENDERISED
from collop.ticket import KINDS, ticket
from collop.ticket.layout_model import FORMS, form_of
from collop.ticket.reading import DEFAULT_SCALE
from collop.ticket.ticket_schema import SCHEMAS

DOCS = Path(__file__).parents[2] / "docs"
TEXT = (DOCS / "ticket.md").read_text(encoding="utf-8")
FILES = sorted(
    path for path in (DOCS / "examples").glob("ticket*.json") if ".plan" not in path.name
)


def _read(path):
    return json.loads(path.read_text(encoding="utf-8"))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_each_worked_example_gives_its_documented_plan(path):
    """The problem runs into its plan, and both keep the printed schemas."""
    problem, plan = _read(path), _read(path.with_suffix(".plan.json"))
    jsonschema.validate(problem, SCHEMAS["ticket"])
    jsonschema.validate(plan, SCHEMAS["ticket.plan"])
    assert ticket(problem) == plan
    assert f"examples/{path.name}" in TEXT


def test_the_examples_show_every_class_but_one():
    """Marinated meat is told like sausage; each other class has its example."""
    assert len(FILES) >= 9
    assert {_read(path)["product"]["class"] for path in FILES} == set(CLASSES) - {"raw marinated"}


def _keys(schema):
    if isinstance(schema, dict):
        yield from schema.get("properties", {})
        for value in schema.values():
            yield from _keys(value)
    elif isinstance(schema, list):
        for value in schema:
            yield from _keys(value)


def test_every_key_of_a_problem_is_described():
    """The page names each key, however deep."""
    for key in set(_keys(SCHEMAS["ticket"])) - {"schema"}:
        assert re.search(rf"`{key}(\[\])?`", TEXT), key


def test_every_part_of_a_plan_is_described():
    """The page names each top key of the plan."""
    for key in set(SCHEMAS["ticket.plan"]["properties"]) - {"schema", "ticket"}:
        assert re.search(rf"`{key}(\[\])?`", TEXT), key


def test_the_forms_on_the_page_are_those_in_use():
    """Each form stands with its dots at both resolutions."""
    for size in FORMS:
        low, high = form_of(size, 203), form_of(size, 300)
        row = next(line for line in TEXT.splitlines() if line.startswith(f"| `{size}`"))
        assert f"{low.width} x {low.height} | {high.width} x {high.height}" in row


def test_words_and_limits_on_the_page_are_those_in_use():
    """Classes, treatments, kinds of code, scale and days."""
    for word in (*CLASSES, *TENDERISED, *KINDS):
        assert f"`{word}`" in TEXT, word
    assert f"`vacuum_days` | days a vacuum pack may be kept, {MOST_DAYS_VACUUM} or fewer" in TEXT
    for unit, (step, most) in DEFAULT_SCALE.items():
        assert f"{step} of {most} {unit}" in TEXT
