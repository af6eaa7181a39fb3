"""The cutting-room commands: plans and refusals as JSON and in words, exit codes, schemas."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from collop.cli.asks import schema
from collop.cli.knife import balance, cuttingtest, yields

EXAMPLES = Path(__file__).parents[2] / "docs/examples"
COMMANDS = {"cuttingtest": cuttingtest, "yields": yields, "balance": balance}


def run(command, *args, text=None):
    return CliRunner().invoke(command, list(args), input=text)


@pytest.mark.parametrize("name", COMMANDS)
def test_a_file_gives_its_plan_as_json(name):
    """With --json the documented plan is printed, and the exit is 0."""
    done = run(COMMANDS[name], str(EXAMPLES / f"{name}.json"), "--json")
    assert done.exit_code == 0
    expected = json.loads((EXAMPLES / f"{name}.plan.json").read_text(encoding="utf-8"))
    assert json.loads(done.stdout) == expected


@pytest.mark.parametrize("name", COMMANDS)
def test_standard_input_is_read_like_a_file(name):
    """`-` gives the same plan as the file."""
    text = (EXAMPLES / f"{name}.json").read_text(encoding="utf-8")
    by_file = run(COMMANDS[name], str(EXAMPLES / f"{name}.json"), "--json").stdout
    assert run(COMMANDS[name], "-", "--json", text=text).stdout == by_file


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("cuttingtest", ["as-purchased cost", "79.80", "usable meat", "margin 35.00 % of the sale",
                         "mark-up 53.85 % of the cost", "Closes."]),
        ("yields", ["steaks", "0.2553", "0.0302", "79.777", "Assumed: "]),
        ("balance", ["Closes (chi-square 0.34, limit 6.63).", "kerf and loss", "18.623"]),
    ],
)  # fmt: skip
def test_people_get_lines_to_read(name, words):
    """Without --json the figures stand in plain lines."""
    done = run(COMMANDS[name], str(EXAMPLES / f"{name}.json"))
    assert done.exit_code == 0
    for word in words:
        assert word in done.stdout
    assert "{" not in done.stdout


def test_refused_weights_are_an_answer_with_the_likely_slip():
    """A balance that is refused exits 0 and names the lug that was not tared."""
    done = run(balance, str(EXAMPLES / "balance.refused.json"))
    assert done.exit_code == 0
    assert "REFUSED" in done.stdout
    assert "just the trim lug: was it tared?" in done.stdout


def test_a_sheet_that_does_not_close_says_so():
    """The gap stands at the end of the sheet with what is likely."""
    problem = json.loads((EXAMPLES / "cuttingtest.json").read_text(encoding="utf-8"))
    problem["products"] = [{"part": "usable meat", "weight": "5.75"}]
    done = run(cuttingtest, "-", text=json.dumps(problem))
    assert done.exit_code == 0
    assert "DOES NOT CLOSE by 0.25 lb." in done.stdout


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize("as_json", [True, False])
def test_a_bad_problem_is_one_sentence_and_exit_1(name, as_json):
    """An unknown key exits 1 with one sentence, or the error object with its path."""
    problem = json.loads((EXAMPLES / f"{name}.json").read_text(encoding="utf-8"))
    problem["moonstone"] = 1
    done = run(COMMANDS[name], "-", *["--json"] * as_json, text=json.dumps(problem))
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
    done = run(COMMANDS[name], "-", text=text)
    assert done.exit_code == 1
    assert len(done.stderr.strip().splitlines()) == 1
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("name", COMMANDS)
def test_a_missing_file_is_one_sentence(name):
    """A file that is not there exits 1 with its name."""
    done = run(COMMANDS[name], "no-such-file.json")
    assert done.exit_code == 1
    assert "no-such-file.json" in done.stderr


@pytest.mark.parametrize("name", COMMANDS)
def test_each_command_has_help_with_an_example(name):
    """The help says what the command does, with a file that exists."""
    help_text = COMMANDS[name].help
    assert f"Example: collop {name} docs/examples/{name}.json" in help_text
    assert (EXAMPLES / f"{name}.json").exists()


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize("kind", ["", ".plan"])
def test_the_schema_of_each_problem_and_plan_is_printed(name, kind):
    """`collop schema` prints a draft 2020-12 schema with its title."""
    done = run(schema, f"{name}{kind}")
    assert done.exit_code == 0
    found = json.loads(done.stdout)
    assert found["$schema"].endswith("2020-12/schema")
    assert found["title"] == f"collop.{name}{kind}/1"


def test_the_commands_load_nothing_heavy():
    """Importing the commands loads neither numpy nor any kernel."""
    code = (
        "import sys, collop.cli.knife\n"
        "heavy = {'numpy', 'collop.carcass', 'collop.wire'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
