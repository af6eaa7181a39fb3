"""The command ``fire``: the plan as JSON and in words, refusals, schemas."""

from __future__ import annotations

import json
from pathlib import Path

from click.testing import CliRunner

from collop.cli.asks import schema
from collop.cli.fire import fire
from fire.fires import item, one_fire

EXAMPLES = Path(__file__).parents[2] / "docs/examples"


def run(*args, text=None):
    return CliRunner().invoke(fire, list(args), input=text)


def test_a_file_gives_its_plan_as_json():
    """With --json the documented plan is printed, from a file or standard input; exit 0."""
    path = EXAMPLES / "fire.json"
    done = run(str(path), "--json")
    assert done.exit_code == 0
    expected = json.loads((EXAMPLES / "fire.plan.json").read_text(encoding="utf-8"))
    assert json.loads(done.stdout) == expected
    text = path.read_text(encoding="utf-8")
    assert run("-", "--json", text=text).stdout == done.stdout


def test_people_get_lines_to_read():
    """Without --json the hour, the don't-eats, the bands, the clock and the cautions are told."""
    done = run(str(EXAMPLES / "fire.json"))
    assert done.exit_code == 0
    for words in ("Eat at 2026-06-12 18:30; all ready in 9", "DON'T EAT: 3 pork", "165 °F (74 °C)",
                  "145 °F (63 °C)", "[raw]", "[cooked]", "[meat-free]", "light the coals",
                  "Mind: Probe the middle", "Assumed: Drum half"):  # fmt: skip
        assert words in done.stdout, words
    assert "{" not in done.stdout


def test_a_no_is_told_with_its_reason_and_what_would_do():
    """NO, the limit it runs into, and the nearest yes; exit 0, as it is an answer."""
    problem = one_fire(item("shoulder", method="indirect", minutes=[150, 200]))
    done = run("-", text=json.dumps(problem))
    assert done.exit_code == 0
    assert "NO: it does not go on this fire." in done.stdout
    assert "  or: " in done.stdout


def test_a_bad_problem_is_one_sentence():
    """Exit 1, one sentence, no traceback; with --json the error is an object with its path."""
    text = json.dumps(one_fire(item("steaks", done_f=130)))
    done = run("-", text=text)
    assert done.exit_code == 1
    assert "published minimum" in done.stderr
    assert "Traceback" not in done.output
    told = json.loads(run("-", "--json", text=text).stdout)
    assert told["error"]["where"] == "$.items[0].done_f"


def test_both_schemas_are_printed():
    """`collop schema fire` and `fire.plan` print a JSON Schema."""
    for name in ("fire", "fire.plan"):
        done = CliRunner().invoke(schema, [name])
        assert json.loads(done.stdout)["title"].startswith("collop.fire")
