"""The ticket command: plans and refusals as JSON and in words, drawings, exit codes, schemas."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from collop.cli.asks import schema
from collop.cli.ticket import ticket

EXAMPLES = Path(__file__).parents[2] / "docs/examples"
FILES = sorted(path for path in EXAMPLES.glob("ticket*.json") if ".plan" not in path.name)


def run(*args, text=None):
    return CliRunner().invoke(ticket, list(args), input=text)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_file_gives_its_plan_as_json(path):
    """With --json the documented plan is printed, and the exit is 0."""
    done = run(str(path), "--json")
    assert done.exit_code == 0
    expected = json.loads(path.with_suffix(".plan.json").read_text(encoding="utf-8"))
    assert json.loads(done.stdout) == expected


def test_standard_input_is_read_like_a_file():
    """`-` gives the same plan as the file."""
    path = EXAMPLES / "ticket.json"
    by_file = run(str(path), "--json").stdout
    assert run("-", "--json", text=path.read_text(encoding="utf-8")).stdout == by_file


def test_without_json_people_can_read_it():
    """Lines, codes, rules with their mark, and assumptions are printed in words."""
    done = run(str(EXAMPLES / "ticket.json"))
    assert done.exit_code == 0
    assert done.stdout.startswith("Ticket T12, 58x60, 463 x 479 dots\n")
    assert "  Net 4.85 lb (2.199 kg)\n" in done.stdout
    assert "[upc-a] 2" in done.stdout
    assert "LB004 (from memory, not checked)" in done.stdout
    assert "common practice, no published source" in done.stdout


def test_a_refusal_is_one_sentence_and_exit_1():
    """A ticket without lot and tare names both on standard error."""
    problem = json.loads((EXAMPLES / "ticket.json").read_text(encoding="utf-8"))
    problem["lot"] = problem["weight"]["tare"] = None
    done = run("-", text=json.dumps(problem))
    assert done.exit_code == 1
    assert done.stdout == ""
    assert done.stderr.count("\n") == 1
    assert "the lot" in done.stderr
    assert "the tare" in done.stderr


def test_a_refusal_as_json_names_the_place():
    """With --json the error object holds kind, sentence and path."""
    problem = json.loads((EXAMPLES / "ticket.json").read_text(encoding="utf-8"))
    problem["weight"]["gross"] = "31"
    done = run("-", "--json", text=json.dumps(problem))
    assert done.exit_code == 1
    error = json.loads(done.stdout)["error"]
    assert error["kind"] == "bad-value"
    assert error["where"] == "$.weight.gross"


def test_drawings_are_written(tmp_path):
    """--png and --pdf write files of their kind, and each is named."""
    png, pdf = tmp_path / "t.png", tmp_path / "t.pdf"
    done = run(str(EXAMPLES / "ticket.json"), "--png", str(png), "--pdf", str(pdf))
    assert done.exit_code == 0, done.stderr
    assert png.read_bytes().startswith(b"\x89PNG")
    assert pdf.read_bytes().startswith(b"%PDF")
    assert f"Drawn: {png}" in done.stdout
    assert f"Drawn: {pdf}" in done.stdout


def test_a_place_that_cannot_be_written_is_one_sentence(tmp_path):
    """A folder that is not there gives a sentence and exit 1."""
    done = run(str(EXAMPLES / "ticket.json"), "--png", str(tmp_path / "no" / "t.png"))
    assert done.exit_code == 1
    assert "cannot be written" in done.stderr


@pytest.mark.parametrize("name", ["ticket", "ticket.plan"])
def test_the_schema_is_printed(name):
    """`collop schema` knows the problem and the plan."""
    done = CliRunner().invoke(schema, [name])
    assert done.exit_code == 0
    assert json.loads(done.stdout)["additionalProperties"] is False
