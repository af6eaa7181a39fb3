"""The lethality command: plan and refusals as JSON and in words, exit codes, schemas."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner

from collop.cli import main

EXAMPLES = Path(__file__).parents[2] / "docs/examples"
FILE = str(EXAMPLES / "lethality.json")


def run(*args, text=None):
    return CliRunner().invoke(main, ["lethality", *args], input=text)


def test_a_file_gives_its_plan_as_json():
    """With --json the documented plan is printed, the exit is 0, and `-` is read alike."""
    done = run(FILE, "--json")
    assert done.exit_code == 0
    expected = json.loads((EXAMPLES / "lethality.plan.json").read_text(encoding="utf-8"))
    assert json.loads(done.stdout) == expected
    text = Path(FILE).read_text(encoding="utf-8")
    assert run("-", "--json", text=text).stdout == done.stdout


def test_people_are_told_the_minimum_first():
    """The first line is the rule and whether it is met; the count comes after."""
    lines = run(FILE).stdout.splitlines()
    assert lines[0].startswith("NOT MET: 63 °C (145 °F), then 3 min rest")
    assert any("9.10 log of 6.5, reached" in line for line in lines[1:])
    assert any("literature, Salmonella: 6.44 log of 6.5, not reached" in line for line in lines)


def test_temperatures_are_looked_up():
    """at_c gives the required minutes alone."""
    problem = {"schema": "collop.lethality/1", "table": "fsis-appendix-a-chicken",
               "at_c": [60.0, 65.6]}  # fmt: skip
    done = run("-", "--json", text=json.dumps(problem))
    assert json.loads(done.stdout) == {"required_min_at_c": {"60.0": 35.0, "65.6": 4.9}}
    assert "60.0 C       35.00 min" in run("-", text=json.dumps(problem)).stdout


@pytest.mark.parametrize(
    "text",
    [
        "{}", "[]", "nothing", '{"schema": "collop.lethality/1"}', '{"at_c": NaN}',
        '{"schema":"collop.lethality/1","table":"fsis-appendix-a-beef","at_c":[1e999]}',
        '{"schema":"collop.lethality/1","table":"fsis-appendix-a-beef","at_c":[54.4],"x":1}',
        '{"schema":"collop.lethality/1","table":"fsis-appendix-a-beef","history":[]}',
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_one_sentence_and_exit_1(text):
    """A refusal is one line, without a traceback, in words and as JSON."""
    done = run("-", text=text)
    assert done.exit_code == 1
    assert len(done.stderr.strip().splitlines()) == 1
    as_json = run("-", "--json", text=text)
    assert as_json.exit_code == 1
    assert "message" in as_json.stdout


def test_the_schemas_are_printed():
    """The printed schemas of problem and plan fit the worked pair."""
    for name, file in (("lethality", "lethality.json"), ("lethality.plan", "lethality.plan.json")):
        printed = CliRunner().invoke(main, ["schema", name])
        assert printed.exit_code == 0
        value = json.loads((EXAMPLES / file).read_text(encoding="utf-8"))
        jsonschema.validate(value, json.loads(printed.stdout))
