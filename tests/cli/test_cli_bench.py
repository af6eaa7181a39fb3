"""The command ``bench``: plans as JSON and in words, refusals, schemas."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from collop.cli import main

EXAMPLES = Path(__file__).parents[2] / "docs/examples"
PROBLEM = EXAMPLES / "bench.json"


def read(name):
    return json.loads((EXAMPLES / name).read_text(encoding="utf-8"))


def run(*args, text=None):
    return CliRunner().invoke(main, list(args), input=text)


def short_problem():
    """Return the example with more lamb leg booked than two lambs have."""
    data = read("bench.json")
    data["bookings"][0]["lines"][0]["weight"] = "30"
    return data


def test_a_file_gives_its_plan_as_json():
    """With --json the documented plan is printed, from a file or standard input; exit 0."""
    done = run("bench", str(PROBLEM), "--json")
    assert done.exit_code == 0
    assert json.loads(done.stdout) == read("bench.plan.json")
    text = PROBLEM.read_text(encoding="utf-8")
    assert run("bench", "-", "--json", text=text).stdout == done.stdout


def test_people_get_each_break_with_its_reason():
    """Without --json each break stands under its date with tag, style, weight and words."""
    plan = read("bench.plan.json")
    done = run("bench", str(PROBLEM))
    assert done.exit_code == 0
    told = done.stdout
    assert "{" not in told
    assert plan["breaks"]
    for one in plan["breaks"]:
        line = next(ln for ln in told.splitlines() if ln.split("  ")[1:2] == [one["id"]])
        assert one["style_name"] in line
        assert f"{one['weight']} lb" in line
        assert one["say"] in told
        before = told[: told.index(line)]
        assert one["date"] in before
        if one["runner_up"]:
            assert one["runner_up"]["say"] in told


def test_people_get_makes_minutes_worths_and_the_proof():
    """What is made, who works how long, what more would be worth, and how sure the plan is."""
    plan = read("bench.plan.json")
    lines = run("bench", str(PROBLEM)).stdout.splitlines()
    told = "\n".join(lines)
    assert "Every booking is met." in lines
    for make in plan["makes"]:
        assert any(make["name"] in ln and make["weight"] in ln and "% fat" in ln for ln in lines)
    for hand in plan["hands"]:
        assert any(ln.startswith(f"  {hand['name']} ") for ln in lines)
    for cut in plan["cuts"]:
        line = next(ln for ln in lines if ln.split() == [*cut["name"].split(), *cut["worth"]])
        assert line.startswith("  ")
    assert f"brings {plan['contribution']}; proven to within" in told
    assert plan["proof"]["bound"] in told
    for note in plan["assumptions"]:
        assert f"Assumed: {note}" in lines


def test_what_is_short_comes_first():
    """A promise that cannot be kept is told before the breaks, with why; the exit is 0."""
    text = json.dumps(short_problem())
    plan = json.loads(run("bench", "-", "--json", text=text).stdout)
    assert plan["answer"] == "short"
    done = run("bench", "-", text=text)
    assert done.exit_code == 0
    lines = done.stdout.splitlines()
    assert lines[1] == "SHORT:"
    short = plan["short"][0]
    assert lines[2] == f"  Supper for eight, 2026-06-11: {short['weight']} lb Lamb leg"
    assert lines[3].strip() == short["say"]
    for way in short["saves"]:
        assert f"    or: {way['say']}" in lines


def test_a_piece_that_is_kept_is_told():
    """A locked piece that stays on the rail has a line of its own."""
    data = read("bench.json") | {"locks": [{"tag": "L-207"}], "bookings": []}
    done = run("bench", "-", text=json.dumps(data))
    assert done.exit_code == 0
    line = next(ln for ln in done.stdout.splitlines() if ln.startswith("  L-207 "))
    assert "kept" in line


@pytest.mark.parametrize(
    ("text", "kind", "word"),
    [
        (json.dumps({"schema": "collop.bench/1", "moonstone": 1}), "unknown-key", "moonstone"),
        (json.dumps({"schema": "collop.bench/1", "days": []}), "bad-value", "$.days"),
        ('{"schema": NaN}', "problem", "NaN"),
        ("[]", "problem", "object"),
        ("", "problem", "not JSON"),
    ],
)
def test_a_slip_is_one_sentence_and_exit_1(text, kind, word):
    """What cannot be read ends with one sentence on standard error, or its JSON."""
    done = run("bench", "-", text=text)
    assert done.exit_code == 1
    assert done.stdout == ""
    assert done.stderr.count("\n") == 1
    assert word in done.stderr
    told = run("bench", "-", "--json", text=text)
    assert told.exit_code == 1
    assert json.loads(told.stdout)["error"]["kind"] == kind


def test_a_file_that_is_not_there_is_said(tmp_path):
    """A wrong file name is one sentence and exit 1."""
    done = run("bench", str(tmp_path / "none.json"))
    assert done.exit_code == 1
    assert "cannot be read" in done.stderr


@pytest.mark.parametrize("name", ["bench", "bench.plan"])
def test_schemas_are_printed(name):
    """`collop schema` knows the problem and the plan."""
    done = run("schema", name)
    assert done.exit_code == 0
    assert json.loads(done.stdout)["title"] == f"collop.{name}/1"


def test_help_loads_no_solver():
    """The command's help is quick: no solver and no kernel is loaded for it."""
    code = (
        "import sys, collop.cli.bench\n"
        "late = {'numpy', 'scipy', 'highspy', 'collop.bench.bench'} & set(sys.modules)\n"
        "assert not late, late"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
    assert "Example: collop bench" in run("bench", "--help").stdout
