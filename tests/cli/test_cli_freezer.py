"""The freezer command: plan and refusal as JSON and in words, exit codes, schemas."""

from __future__ import annotations

import json
from pathlib import Path

from click.testing import CliRunner

from collop.cli import main

EXAMPLE = Path(__file__).parents[2] / "docs/examples/freezer.json"


def _run(*args, text=None):
    return CliRunner().invoke(main, ["freezer", *args], input=text)


def test_a_file_and_standard_input_give_the_documented_plan():
    """With --json the documented plan is printed; `-` reads the same."""
    plan = json.loads(EXAMPLE.with_name("freezer.plan.json").read_text(encoding="utf-8"))
    done = _run(str(EXAMPLE), "--json")
    assert done.exit_code == 0
    assert json.loads(done.stdout) == plan
    assert _run("-", "--json", text=EXAMPLE.read_text(encoding="utf-8")).stdout == done.stdout


def test_in_words_it_closes_and_names_packs_room_and_money():
    """Without --json each piece closes in words, with packs, room, money and what is assumed."""
    told = _run(str(EXAMPLE)).output
    plan = json.loads(EXAMPLE.with_name("freezer.plan.json").read_text(encoding="utf-8"))
    for part in plan["parts"]:
        closing = f"{part['take_home']} + {part['left_weight']} + {part['loss']} = {part['weight']}"
        assert f"{closing} lb. Closes." in told
    assert f"{plan['packs']} packs" in told
    assert plan["money"]["total"] in told
    assert "cubic feet" in told
    assert "from memory, not checked" in told
    assert "1 packs" not in told


def test_a_bad_order_is_one_sentence_and_exit_1():
    """A wrong value is named with its path, in words and as JSON."""
    problem = json.loads(EXAMPLE.read_text(encoding="utf-8"))
    problem["parts"][0]["share"] = "3"
    text = json.dumps(problem)
    told = _run("-", text=text)
    assert told.exit_code == 1
    assert "$.parts[0].share" in told.output
    assert told.output.count("\n") == 1
    error = json.loads(_run("-", "--json", text=text).output)["error"]
    assert error["where"] == "$.parts[0].share"


def test_the_schemas_are_printed():
    """`collop schema` knows the problem and its plan."""
    for name in ("freezer", "freezer.plan"):
        done = CliRunner().invoke(main, ["schema", name])
        assert json.loads(done.output)["title"] == f"collop.{name}/1"
