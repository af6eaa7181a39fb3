"""The cost commands: plans and refusals as JSON and in words, exit codes, schemas."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from collop.cli import main

EXAMPLES = Path(__file__).parents[2] / "docs/examples"
COMMANDS = ("allocate", "putout")


def run(*args, text=None):
    return CliRunner().invoke(main, list(args), input=text)


@pytest.mark.parametrize("name", COMMANDS)
def test_a_file_gives_its_plan_as_json(name):
    """With --json the documented plan is printed, and the exit is 0."""
    done = run(name, str(EXAMPLES / f"{name}.json"), "--json")
    assert done.exit_code == 0
    expected = json.loads((EXAMPLES / f"{name}.plan.json").read_text(encoding="utf-8"))
    assert json.loads(done.stdout) == expected


@pytest.mark.parametrize("name", COMMANDS)
def test_standard_input_is_read_like_a_file(name):
    """`-` gives the same plan as the file."""
    text = (EXAMPLES / f"{name}.json").read_text(encoding="utf-8")
    by_file = run(name, str(EXAMPLES / f"{name}.json"), "--json").stdout
    assert run(name, "-", "--json", text=text).stdout == by_file


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("allocate", ["shoulder", "shared out", "550.80", "bones", "worth 14.20", "All sold: ",
                      "shoulder worked further brings 27.00", "Closes within 0.2 lb.",
                      "Assumed: "]),
        ("putout", ["Put out 15 lb", "critical ratio", "0.6081", "15.0976 lb", "Assumed: "]),
    ],
)  # fmt: skip
def test_people_get_lines_to_read(name, words):
    """Without --json the figures stand in plain lines."""
    done = run(name, str(EXAMPLES / f"{name}.json"))
    assert done.exit_code == 0
    for word in words:
        assert word in done.stdout
    assert "{" not in done.stdout


def test_a_plan_without_prices_or_input_has_lines_too():
    """Margins are left empty, and nothing is said of an account or of closing."""
    problem = {
        "schema": "collop.allocate/1", "joint_cost": "10", "method": "physical",
        "products": [{"name": "leg", "quantity": "2"}],
    }  # fmt: skip
    done = run("allocate", "-", text=json.dumps(problem))
    assert done.exit_code == 0
    assert "All sold" not in done.stdout
    assert "Closes" not in done.stdout
    assert "10.00" in done.stdout


def test_weights_that_do_not_close_exit_1_with_the_gap():
    """The sentence says how much is missing; with --json its path is told."""
    problem = json.loads((EXAMPLES / "allocate.json").read_text(encoding="utf-8"))
    text = json.dumps(problem | {"loss_quantity": "0"})
    done = run("allocate", "-", text=text)
    assert (done.exit_code, done.stdout) == (1, "")
    assert "1.5 lb is missing" in done.stderr
    error = json.loads(run("allocate", "-", "--json", text=text).stdout)["error"]
    assert (error["kind"], error["where"]) == ("contradiction", "$.input.quantity")


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize("as_json", [True, False])
def test_a_bad_problem_is_one_sentence_and_exit_1(name, as_json):
    """An unknown key exits 1 with one sentence, or the error object with its path."""
    problem = json.loads((EXAMPLES / f"{name}.json").read_text(encoding="utf-8"))
    problem["moonstone"] = 1
    done = run(name, "-", *["--json"] * as_json, text=json.dumps(problem))
    assert done.exit_code == 1
    if as_json:
        error = json.loads(done.stdout)["error"]
        assert (error["kind"], error["where"]) == ("unknown-key", "$.moonstone")
    else:
        assert done.stdout == ""
        assert len(done.stderr.strip().splitlines()) == 1


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize("text", ["", "{", "[]", '{"schema": NaN}', "\x00"])
def test_what_is_no_problem_is_one_sentence(name, text):
    """Text that is no JSON object exits 1 with one sentence."""
    done = run(name, "-", text=text)
    assert done.exit_code == 1
    assert len(done.stderr.strip().splitlines()) == 1
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("name", COMMANDS)
def test_a_missing_file_is_one_sentence(name):
    """A file that is not there exits 1 with its name."""
    done = run(name, "no-such-file.json")
    assert done.exit_code == 1
    assert "no-such-file.json" in done.stderr


@pytest.mark.parametrize("name", COMMANDS)
def test_each_command_has_help_with_an_example(name):
    """The help says what the command does, with a file that exists."""
    assert f"Example: collop {name} docs/examples/{name}.json" in main.commands[name].help
    assert (EXAMPLES / f"{name}.json").exists()


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize("kind", ["", ".plan"])
def test_the_schema_of_each_problem_and_plan_is_printed(name, kind):
    """`collop schema` prints a draft 2020-12 schema with its title."""
    done = run("schema", f"{name}{kind}")
    assert done.exit_code == 0
    found = json.loads(done.stdout)
    assert found["$schema"].endswith("2020-12/schema")
    assert found["title"] == f"collop.{name}{kind}/1"


def test_the_commands_load_nothing_heavy():
    """Importing the commands loads neither numpy nor any kernel."""
    code = (
        "import sys, collop.cli.chalk_cost\n"
        "heavy = {'numpy', 'scipy', 'collop.chalk', 'collop.wire'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
