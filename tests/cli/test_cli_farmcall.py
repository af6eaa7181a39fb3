"""The command ``farmcall``: its plan as JSON and in words, refusals, schemas."""

from __future__ import annotations

import json
from pathlib import Path

from click.testing import CliRunner

from collop.cli.asks import schema
from collop.cli.farmcall import farmcall

EXAMPLES = Path(__file__).parents[2] / "docs/examples"
PATH = EXAMPLES / "farmcall.json"


def run(command, *args, text=None):
    return CliRunner().invoke(command, list(args), input=text)


def test_a_file_gives_its_plan_as_json():
    """With --json the documented plan is printed, from a file or standard input; exit 0."""
    done = run(farmcall, str(PATH), "--json")
    assert done.exit_code == 0
    expected = json.loads((EXAMPLES / "farmcall.plan.json").read_text(encoding="utf-8"))
    assert json.loads(done.stdout) == expected
    text = PATH.read_text(encoding="utf-8")
    assert run(farmcall, "-", "--json", text=text).stdout == done.stdout


def test_people_get_lines_to_read():
    """Without --json: the sentence for the phone, the table, promises, what is over, sources."""
    done = run(farmcall, str(PATH))
    assert done.exit_code == 0
    plan = json.loads((EXAMPLES / "farmcall.plan.json").read_text(encoding="utf-8"))
    for words in (*plan["say"], "one more", "one week in ten under", "rail 1002 of 1600 lb",
                  "The Fig Tree: Hanger and skirt", "Plan: ", "Assumed: ", "E05"):  # fmt: skip
        assert words in done.stdout
    assert "{" not in done.stdout


def test_a_slip_is_one_sentence_and_exit_1():
    """An unknown key ends with one sentence, or its JSON."""
    text = json.dumps({"schema": "collop.farmcall/1", "moonstone": 1})
    done = run(farmcall, "-", text=text)
    assert done.exit_code == 1
    assert done.stderr.count("\n") == 1
    assert "moonstone" in done.stderr
    told = run(farmcall, "-", "--json", text=text)
    assert json.loads(told.stdout)["error"]["kind"] == "unknown-key"


def test_both_schemas_are_printed():
    """``collop schema`` knows the call and its plan."""
    for name, title in (("farmcall", "collop.farmcall/1"),
                        ("farmcall.plan", "collop.farmcall.plan/1")):  # fmt: skip
        assert json.loads(run(schema, name).stdout)["title"] == title
