"""The commands ``clearing`` and ``demand``: plans as JSON and in words, refusals, schemas."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from collop.cli.asks import schema
from collop.cli.chalk_clear import clearing, demand

EXAMPLES = Path(__file__).parents[2] / "docs/examples"
COMMANDS = {"clearing": clearing, "demand": demand}


def run(command, *args, text=None):
    return CliRunner().invoke(command, list(args), input=text)


@pytest.mark.parametrize("name", COMMANDS)
def test_a_file_gives_its_plan_as_json(name):
    """With --json the documented plan is printed, from a file or standard input; exit 0."""
    path = EXAMPLES / f"{name}.json"
    done = run(COMMANDS[name], str(path), "--json")
    assert done.exit_code == 0
    expected = json.loads((EXAMPLES / f"{name}.plan.json").read_text(encoding="utf-8"))
    assert json.loads(done.stdout) == expected
    text = path.read_text(encoding="utf-8")
    assert run(COMMANDS[name], "-", "--json", text=text).stdout == done.stdout


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("clearing", ["loin to chops", "48.512 lb", "4.20", "2.2920", "brings 371.77",
                      "one more animal would bring 89.92", "Assumed: "]),
        ("demand", ["A price 10 % up sells", "own, 8 weeks", "published", "together", "E02",
                    "Assumed: "]),
    ],
)  # fmt: skip
def test_people_get_lines_to_read(name, words):
    """Without --json the figures stand in plain lines."""
    done = run(COMMANDS[name], str(EXAMPLES / f"{name}.json"))
    assert done.exit_code == 0
    for word in words:
        assert word in done.stdout
    assert "{" not in done.stdout


def test_what_holds_a_price_and_what_is_unsold_stand_beside_it():
    """Cap, floor and leftover are told in words, and a cut nothing gives is `none`."""
    cuts = [
        {"id": "ribs", "price": "5", "quantity": "10", "elasticity": 2, "cap": "5", "on_hand": "1"},
        {"id": "roast", "price": "5", "quantity": "10", "elasticity": 2, "floor": "4",
         "on_hand": "90"},
        {"id": "liver", "price": "2", "quantity": "3", "elasticity": 0.5, "on_hand": "4"},
        {"id": "hock", "price": "2", "quantity": "3", "elasticity": 2},
    ]  # fmt: skip
    text = json.dumps({"schema": "collop.clearing/1", "cuts": cuts})
    lines = run(clearing, "-", text=text).stdout.splitlines()
    told = {line.split()[0]: line for line in lines if line.startswith("  ")}
    assert "at its cap" in told["ribs"]
    assert "at its floor, 74.375 lb unsold" in told["roast"]
    assert "clears" in told["liver"]
    assert told["hock"].split() == ["hock", "none"]


@pytest.mark.parametrize("name", COMMANDS)
def test_a_slip_is_one_sentence_and_exit_1(name):
    """An unknown key ends with one sentence, or its JSON."""
    text = json.dumps({"schema": f"collop.{name}/1", "moonstone": 1})
    done = run(COMMANDS[name], "-", text=text)
    assert done.exit_code == 1
    assert done.stderr.count("\n") == 1
    assert "moonstone" in done.stderr
    told = run(COMMANDS[name], "-", "--json", text=text)
    assert json.loads(told.stdout)["error"]["kind"] == "unknown-key"


@pytest.mark.parametrize("name", [*COMMANDS, *(f"{one}.plan" for one in COMMANDS)])
def test_schemas_are_printed(name):
    """`collop schema` knows both problems and both plans."""
    done = run(schema, name)
    assert done.exit_code == 0
    assert json.loads(done.stdout)["type"] == "object"
