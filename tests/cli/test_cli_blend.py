"""The command ``blend``: the plan as JSON and in words, refusals, schemas."""

from __future__ import annotations

import json
from pathlib import Path

from click.testing import CliRunner

from collop.cli.asks import schema
from collop.cli.blend import blend

EXAMPLES = Path(__file__).parents[2] / "docs/examples"


def run(*args, text=None):
    return CliRunner().invoke(blend, list(args), input=text)


def one_recipe(**recipe):
    """Return a problem of two bins as text."""
    bins = [
        {"id": "lean", "species": "beef", "fat": 0.1, "price": "5", "available": "20"},
        {"id": "fat", "species": "beef", "fat": 0.5, "price": "2"},
    ]
    made = {"id": "mince", "make": "40", **recipe}
    return json.dumps({"schema": "collop.blend/1", "bins": bins, "recipes": [made]})


def test_a_file_gives_its_plan_as_json():
    """With --json the documented plan is printed, from a file or standard input; exit 0."""
    path = EXAMPLES / "blend.json"
    done = run(str(path), "--json")
    assert done.exit_code == 0
    expected = json.loads((EXAMPLES / "blend.plan.json").read_text(encoding="utf-8"))
    assert json.loads(done.stdout) == expected
    text = path.read_text(encoding="utf-8")
    assert run("-", "--json", text=text).stdout == done.stdout


def test_people_get_lines_to_read():
    """Without --json the amounts, batches, limits and their sources stand in plain lines."""
    done = run(str(EXAMPLES / "blend.json"))
    assert done.exit_code == 0
    for words in ("19.637 lb", "80 % lean / 20 % fat", "240 pieces", "1 x 8 lb", "casing: sheep",
                  "contains wheat", "1 % more fat would save 0.0955 a lb.", "LB065",
                  "Mind: cheek meat", "from memory, check your code", "proven to within",
                  "Assumed: "):  # fmt: skip
        assert words in done.stdout, words
    assert "{" not in done.stdout


def test_a_no_is_told_with_what_would_have_to_give():
    """NO, the nearest yes, the others, and the published limit that stays; exit 0."""
    done = run("-", text=one_recipe(fat={"max": 0.15}, standard="ground beef"))
    assert done.exit_code == 0
    assert done.stdout.startswith("NO. No blend keeps every limit. It can be made with ")
    assert "  Or: It can be made with " in done.stdout
    assert "  Stays: ground beef / chopped beef: fat: 30 % at the most (LB065" in done.stdout


def test_a_slip_is_one_sentence_and_exit_1():
    """An unknown key, and a recipe over a published limit, end with one sentence or its JSON."""
    for text, kind, words in (
        (one_recipe(moonstone=1), "unknown-key", "moonstone"),
        (one_recipe(standard="ground beef", fat={"max": 0.31}), "contradiction", "2VAC5-590-10"),
    ):
        done = run("-", text=text)
        assert done.exit_code == 1
        assert done.stderr.count("\n") == 1
        assert words in done.stderr
        told = run("-", "--json", text=text)
        assert json.loads(told.stdout)["error"]["kind"] == kind


def test_schemas_are_printed():
    """``collop schema blend`` and ``blend.plan``."""
    for name in ("blend", "blend.plan"):
        done = CliRunner().invoke(schema, [name])
        assert json.loads(done.stdout)["title"].startswith("collop.blend")
