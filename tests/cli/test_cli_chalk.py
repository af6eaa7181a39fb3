"""The command ``chalk``: the plan as JSON and in words, refusals, schemas."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from collop.chalk.chalk_schema import SCHEMAS
from collop.cli.asks import schema
from collop.cli.chalk import chalk

EXAMPLES = Path(__file__).parents[2] / "docs/examples"
FILE = EXAMPLES / "chalk.json"


def run(*args, text=None, command=chalk):
    return CliRunner().invoke(command, list(args), input=text)


def test_a_file_gives_its_plan_as_json():
    """With --json the documented plan is printed, from a file or standard input."""
    done = run(str(FILE), "--json")
    assert done.exit_code == 0
    expected = json.loads((EXAMPLES / "chalk.plan.json").read_text(encoding="utf-8"))
    assert json.loads(done.stdout) == expected
    assert run("-", "--json", text=FILE.read_text(encoding="utf-8")).stdout == done.stdout


def test_people_get_lines_to_read():
    """Without --json the board, its money and the pulls stand in plain lines."""
    done = run(str(FILE))
    assert done.exit_code == 0
    for word in ("Hog of Tuesday", "sales needed", "645.43", "This board brings", "0.10 over",
                 "The present board brings 636.83, 8.60 short.", "Sold so far: 46.98.",
                 "Weights close; loss 1.8 lb.", "fixed",
                 "Blade steak down 0.50: Cured ham up 0.20"):  # fmt: skip
        assert word in done.stdout
    assert "{" not in done.stdout


def test_a_board_out_of_reach_says_so():
    """Caps too low: the plan is printed, with what is short."""
    problem = json.loads(FILE.read_text(encoding="utf-8"))
    for cut in problem["cuts"]:
        cut["cap"] = "2.00"
        cut.pop("floor", None)
    done = run("-", text=json.dumps(problem))
    assert done.exit_code == 0
    assert "NOT REACHED: " in done.stdout
    assert "at its cap" in done.stdout


@pytest.mark.parametrize("as_json", [True, False])
def test_a_refusal_is_one_sentence_and_exit_one(as_json):
    """Weights that do not close exit 1 and name what is missing."""
    problem = json.loads(FILE.read_text(encoding="utf-8")) | {"start_weight": "200"}
    done = run("-", *(["--json"] if as_json else []), text=json.dumps(problem))
    assert done.exit_code == 1
    assert "15.8 lb (7.9 %) of it is in no part" in done.output
    assert "Traceback" not in done.output


def test_the_schemas_can_be_printed():
    """`collop schema chalk` and `chalk.plan` give what the kernel keeps."""
    for name, expected in SCHEMAS.items():
        assert json.loads(run(name, command=schema).stdout) == expected
