"""The command that judges a lot, and its page of documents."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner

from collop.cli import main
from collop.rules.netweight import netweight
from collop.rules.netweight_schema import SCHEMAS

DOCS = Path(__file__).parents[2] / "docs"
EXAMPLE = DOCS / "examples/netweight.json"


def run(*args, text=None, code=0):
    done = CliRunner().invoke(main, [str(arg) for arg in args], input=text)
    assert done.exit_code == code, done.output
    return done


def test_the_worked_example_gives_the_documented_plan():
    """The worked problem runs into its plan, both by their schemas, as `collop schema` prints."""
    problem = json.loads(EXAMPLE.read_text(encoding="utf-8"))
    plan = json.loads((DOCS / "examples/netweight.plan.json").read_text(encoding="utf-8"))
    assert netweight(problem) == plan
    assert json.loads(run("netweight", EXAMPLE, "--json").stdout) == plan
    for name, value in (("netweight", problem), ("netweight.plan", plan)):
        schema = json.loads(run("schema", name).stdout)
        assert schema == SCHEMAS[name]
        jsonschema.Draft202012Validator.check_schema(schema)
        jsonschema.validate(value, schema)


def test_standard_input_is_read_like_a_file():
    """`-` gives the same plan as the file."""
    text = EXAMPLE.read_text(encoding="utf-8")
    assert run("netweight", "-", "--json", text=text).stdout == (
        run("netweight", EXAMPLE, "--json").stdout
    )


def test_people_get_lines_to_read():
    """The verdict first, then each package, what is assumed, and each rule with its mark."""
    text = run("netweight", EXAMPLE).stdout
    for words in (
        "Ground lamb, packed Tuesday", "The lot passes by 0.001357 lb", "12 of 40 packages",
        "T41", "average error -0.002083 lb", "allowed 0.635 x 0.005418 = 0.003441 lb short",
        "Assumed: The sampling plan and allowances are from memory, not checked",
        "Rule WM061", "(from memory, not checked)",
    ):  # fmt: skip
        assert words in text
    assert "{" not in text


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("{}", "schema"),
        ("nothing", "not JSON"),
        ('{"schema": "collop.netweight/1", "lot_size": 0}', "from 1"),
    ],
)
def test_a_wrong_file_is_one_sentence_and_exit_one(text, word):
    """Without --json on standard error, with it as an error object."""
    told = run("netweight", "-", text=text, code=1)
    assert word in told.stderr
    assert told.stdout == ""
    error = json.loads(run("netweight", "-", "--json", text=text, code=1).stdout)["error"]
    assert word in error["message"]


def test_every_key_is_described():
    """The page names each key of the problem, of its packages, and of the plan."""
    text = (DOCS / "netweight.md").read_text(encoding="utf-8")
    problem, plan = SCHEMAS["netweight"]["properties"], SCHEMAS["netweight.plan"]["properties"]
    keys = set(problem) | set(plan) | set(problem["packages"]["items"]["properties"])
    for key in keys - {"schema"}:
        assert f"`{key}" in text or f".{key}`" in text, key
