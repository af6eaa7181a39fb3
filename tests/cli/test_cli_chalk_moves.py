"""The commands ``whole`` and ``markdown``: plans and refusals as JSON and in words, exit codes."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner

from collop.cli import main

EXAMPLES = Path(__file__).parents[2] / "docs/examples"
COMMANDS = ("whole", "markdown")


def run(*args, text=None):
    return CliRunner().invoke(main, list(args), input=text)


@pytest.mark.parametrize("name", COMMANDS)
def test_a_file_gives_its_plan_as_json(name):
    """With --json the documented plan is printed, by file and by standard input; the exit is 0."""
    path = EXAMPLES / f"{name}.json"
    done = run(name, str(path), "--json")
    assert done.exit_code == 0
    expected = json.loads((EXAMPLES / f"{name}.plan.json").read_text(encoding="utf-8"))
    assert json.loads(done.stdout) == expected
    assert run(name, "-", "--json", text=path.read_text(encoding="utf-8")).stdout == done.stdout


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("whole", ["whole above 3.78 per lb", "Blade steak", "break-even, sold whole", "3.7776",
                   "Both earn the same with Mince at 4.1767", "Assumed: "]),
        ("markdown", ["Mark down from 15.90 to 12.90", "convert (mince)", "leaving the price alone",
                      "clearing all at 11.58", "Assumed: "]),
    ],
)  # fmt: skip
def test_people_get_lines_to_read(name, words):
    """Without --json the figures stand in lines, with what was assumed."""
    done = run(name, str(EXAMPLES / f"{name}.json"))
    assert done.exit_code == 0
    for word in words:
        assert word in done.stdout


def test_the_break_even_is_shown_as_it_is_divided():
    """(3.6898 + 0.05) / 0.99 = 3.7776: each of the three stands in its line, in that order."""
    done = run("whole", str(EXAMPLES / "whole.json")).stdout.splitlines()
    last = [line.split()[-1] for line in done if line.startswith("  ")]
    at = last.index("3.6898")
    assert last[at : at + 4] == ["3.6898", "0.0500", "0.99", "3.7776"]
    assert abs((3.6898 + 0.05) / 0.99 - 3.7776) < 0.0001
    # nothing is added or divided where the whole costs and loses nothing
    problem = json.loads((EXAMPLES / "whole.json").read_text(encoding="utf-8"))
    problem |= {"whole_shrink": 0, "whole_labour_per_unit": "0"}
    text = run("whole", "-", text=json.dumps(problem)).stdout
    assert "divided by" not in text
    assert "packing, whole" not in text


def test_past_its_date_the_lines_say_bin():
    """With no period left the command says to bin it, and prints no price."""
    problem = json.loads((EXAMPLES / "markdown.json").read_text(encoding="utf-8")) | {"periods": 0}
    done = run("markdown", "-", text=json.dumps(problem))
    assert done.exit_code == 0
    assert done.stdout.splitlines()[1].startswith("Its date is past: bin all 14.60 lb")
    assert "clearing" not in done.stdout


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize("text", ["{}", "[]", "{", '{"schema": NaN}', '{"schema": "x", "y": 1}'])
def test_a_bad_problem_is_one_sentence_and_exit_one(name, text):
    """Refusals go to standard error as a sentence, or as an error object with --json."""
    plain, as_json = run(name, "-", text=text), run(name, "-", "--json", text=text)
    assert plain.exit_code == as_json.exit_code == 1
    assert plain.stdout == ""
    assert len(plain.stderr.strip().splitlines()) == 1
    assert json.loads(as_json.stdout)["error"]["message"] == plain.stderr.strip()


@pytest.mark.parametrize("name", COMMANDS)
def test_the_schema_is_printed(name):
    """`collop schema` prints the schema of the problem and of the plan, and they hold."""
    for kind, suffix in ((name, ""), (f"{name}.plan", ".plan")):
        schema = json.loads(run("schema", kind).stdout)
        example = json.loads((EXAMPLES / f"{name}{suffix}.json").read_text(encoding="utf-8"))
        jsonschema.Draft202012Validator(schema).validate(example)


@pytest.mark.parametrize("name", COMMANDS)
def test_help_shows_an_example(name):
    """The help of the command ends with a line that can be typed."""
    assert f"Example: collop {name} docs/examples/{name}.json" in run(name, "--help").stdout
