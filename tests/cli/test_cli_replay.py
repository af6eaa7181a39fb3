"""`collop replay`: a past day with another plan, as JSON and in words."""

from __future__ import annotations

import json
from pathlib import Path

from click.testing import CliRunner

from collop.cli import main

EXAMPLE = Path(__file__).parents[2] / "docs" / "examples" / "replay.json"


def run(*args, text=None):
    return CliRunner().invoke(main, ["replay", *args], input=text)


def test_the_plan_is_printed_as_json():
    """`--json` prints the documented plan and exits 0; `-` reads standard input."""
    done = run(str(EXAMPLE), "--json")
    assert done.exit_code == 0
    plan = json.loads(done.stdout)
    assert plan == json.loads(EXAMPLE.with_suffix(".plan.json").read_text(encoding="utf-8"))
    piped = run("-", "--json", text=EXAMPLE.read_text(encoding="utf-8"))
    assert json.loads(piped.stdout) == plan


def test_it_is_said_in_words():
    """Without `--json` three columns, the difference line by line, and what is assumed."""
    said = run(str(EXAMPLE)).stdout
    assert "it would have brought 14.00 less" in said
    (row,) = (line for line in said.splitlines() if line.strip().startswith("contribution"))
    assert row.split() == ["contribution", "382.18", "368.18", "404.68"]
    assert "Lamb shoulder" in said
    assert "Assumed: What was sold is the least that was asked for" in said


def test_what_is_wrong_is_one_sentence_and_exit_1():
    """A piece that did not hang: one sentence on standard error, or its JSON."""
    problem = json.loads(EXAMPLE.read_text(encoding="utf-8"))
    problem["changes"] = [{"tag": "X-1"}]
    done = run("-", text=json.dumps(problem))
    assert done.exit_code == 1
    assert done.stderr.count("\n") == 1
    assert "did not hang" in done.stderr
    told = run("-", "--json", text=json.dumps(problem))
    assert json.loads(told.stdout)["error"]["where"] == "$.changes[0].tag"


def test_help_shows_an_example():
    """`collop replay --help` names the example file."""
    assert "Example: collop replay docs/examples/replay.json" in run("--help").stdout
